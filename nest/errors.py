"""Every error the project raises on purpose, each with the exit code the command line gives for it."""

from __future__ import annotations

from dataclasses import dataclass


class NestError(Exception):
    """Base of all errors of the project; raised as it is only for a fault of our own."""

    exit_code = 1


@dataclass(frozen=True, slots=True, kw_only=True)
class Fault:
    """One wrong value in an input file.

    ``where`` names the place inside the file: a column, a key such as ``imager.clamp`` or a cell.
    """

    file: str
    line: int | None = None
    where: str | None = None
    rule: str
    got: str | None = None
    remedy: str

    def __str__(self) -> str:
        place = self.file if self.line is None else f"{self.file}:{self.line}"
        if self.where is not None:
            place += f": {self.where}"
        got = "" if self.got is None else f"; got {self.got}"
        return f"{place}: {self.rule}{got}; {self.remedy}"


class InputError(NestError, ValueError):
    """The files or options given are wrong; carries every fault found, in file order."""

    exit_code = 2

    def __init__(self, faults: tuple[Fault, ...]) -> None:
        self.faults = faults
        count = "1 fault" if len(faults) == 1 else f"{len(faults)} faults"
        super().__init__("\n".join([*(str(fault) for fault in faults), f"{count}, nothing written"]))


class OutputError(NestError, OSError):
    """The output folder cannot be written; what was there before is untouched."""

    exit_code = 2


class MissingExtra(NestError):
    """An optional library is not installed; says how to install it."""

    exit_code = 2

    def __init__(self, what: str, library: str, extra: str) -> None:
        super().__init__(
            f"{what} needs the library {library}, which is not installed; nothing written; install it in nest's folder "
            f"with: .venv/bin/pip install '.[{extra}]'"
        )


class ClusterError(NestError):
    """The workers of a cluster or of a pool cannot be reached, or end again and again."""

    exit_code = 2


class CheckFailed(NestError):
    """A plan breaks a rule: our own fault when the engine made it."""

    exit_code = 1


class StockError(NestError):
    """The ledger has too little stock, is locked, or has changed since the plan was made."""

    exit_code = 4


class Interrupted(NestError):
    """The user stopped the program before there was a complete plan."""

    exit_code = 130
