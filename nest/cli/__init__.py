"""The command line: `nest.cli.app` holds the commands, `nest.cli.ends` turns every end into an exit code."""

from nest.cli.ends import main

__all__ = ["main"]
