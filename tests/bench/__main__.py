"""``python -m tests.bench``: see README.md beside this file."""

from __future__ import annotations

from tests.bench.command import main

if __name__ == "__main__":
    raise SystemExit(main())
