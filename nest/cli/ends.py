"""How a command ends: the one place where errors become messages and exit codes."""

from __future__ import annotations

import json
import os
import sys
import traceback
from typing import TYPE_CHECKING, Any

import click

from nest.cli.app import cli
from nest.cli.begun import begin
from nest.cli.streams import ready_streams, tell
from nest.errors import InputError, Interrupted, NestError

if TYPE_CHECKING:
    from collections.abc import Sequence

DEBUG = "NEST_DEBUG"
MOST_WORDS = 200


def main() -> None:
    """Run the command line and leave with its exit code."""
    begin()
    ready_streams()
    sys.exit(run(sys.argv[1:]))


def run(args: Sequence[str]) -> int:
    """Run a command and return its exit code; every error is told on standard error."""
    as_json = "--json" in args
    try:
        code = cli.main(args=list(args), prog_name="nest", standalone_mode=False)
    except click.UsageError as error:
        return _usage(error, as_json)
    except (click.Abort, KeyboardInterrupt):
        return _end(Interrupted.exit_code, "stopped at once; nothing written", as_json)
    except InputError as error:
        return _end(error.exit_code, str(error), as_json, [_fault(fault) for fault in error.faults])
    except NestError as error:
        return _end(error.exit_code, str(error), as_json)
    except Exception as error:
        if os.environ.get(DEBUG):
            traceback.print_exc()
        return _end(NestError.exit_code, _our_fault(error), as_json)
    return code if isinstance(code, int) else 0


def _our_fault(error: Exception) -> str:
    what = " ".join(f"{type(error).__name__}: {error}".split())
    what = what if len(what) <= MOST_WORDS else what[: MOST_WORDS - 1] + "…"
    return (
        f"a fault of our own, nothing written ({what}); please report it with this line, the input files and what "
        f"'nest --version' prints; {DEBUG}=1 before the command shows where it happened"
    )


def _usage(error: click.UsageError, as_json: bool) -> int:
    if not as_json:
        error.show()
        return InputError.exit_code
    command = error.ctx.command_path if error.ctx is not None else "nest"
    where = None
    if isinstance(error, click.BadParameter) and error.param is not None:
        where = max(error.param.opts, key=len)
    fault: dict[str, object] = {
        "file": None,
        "line": None,
        "where": where,
        "rule": error.format_message(),
        "got": None,
        "remedy": f"see {command} --help",
    }
    return _end(InputError.exit_code, error.format_message(), as_json, [fault])


def _fault(fault: Any) -> dict[str, object]:
    return {name: getattr(fault, name) for name in ("file", "line", "where", "rule", "got", "remedy")}


def _end(code: int, message: str, as_json: bool, faults: Sequence[dict[str, object]] = ()) -> int:
    """Tell why a command ends, as text or as one JSON document, and return the exit code."""
    if as_json:
        message = json.dumps({"exit_code": code, "message": message, "faults": list(faults)}, indent=1)
    tell(message)
    return code
