"""What can go wrong, as a tree: AuditError <- SourceError, FrameError, PlanError, UnitError, RecordError.

A torque outside its band, a wrong joint or an unexpected pull is a verdict, never an exception. Every message is one
line that says what, where, and what to do next.
"""

from dataclasses import dataclass
from enum import StrEnum


class AuditError(Exception):
    """The base of every error of ours; its text is one line fit to show."""


class SourceReason(StrEnum):
    """Why a source gives no bytes."""

    MISSING = "missing"
    BUSY = "busy"
    PERMISSION = "permission"
    NOT_READABLE = "not readable"


class SourceError(AuditError):
    """A source cannot be opened or read: port missing, busy or forbidden, file missing or not a log."""

    def __init__(self, message: str, reason: SourceReason) -> None:
        super().__init__(message)
        self.reason = reason


class Fate(StrEnum):
    """What becomes of bytes that give no reading: cannot be decoded, or cannot be decided."""

    UNREADABLE = "unreadable"
    SET_ASIDE = "set aside"


class FrameError(AuditError):
    """A frame gives no reading; `fate` says whether its bytes could not be decoded or its value not be decided.

    `is_usual` marks what a wrench sends besides its pulls, or once more: it is kept, and no reason to look up.
    """

    def __init__(self, reason: str, fate: Fate, *, is_usual: bool = False) -> None:
        super().__init__(reason)
        self.fate = fate
        self.is_usual = is_usual


class UnitError(AuditError):
    """A spelling is no torque unit that we know, or one that cannot stand for a torque."""


@dataclass(frozen=True, slots=True)
class PlanFault:
    """One thing wrong with a plan: where it stands (`line` 0: in the whole), what it is, what to write instead.

    `id` names the kind of mistake in words; `unreadable` is a text that is no plan, `field` a value that is none.
    """

    line: int
    field: str
    what: str
    id: str = "unreadable"

    def __str__(self) -> str:
        where = [f"line {self.line}"] * (self.line > 0) + [f"`{self.field}`"] * bool(self.field)
        return f"{', '.join(where)}: {self.what}" if where else self.what


class PlanError(AuditError):
    """A plan cannot be used; `faults` holds everything found, each with line and field."""

    def __init__(self, file: str, faults: tuple[PlanFault, ...]) -> None:
        self.file = file
        self.faults = faults
        super().__init__("\n".join(f"{file}, {fault}" if fault.line else f"{file}: {fault}" for fault in faults))


class RecordError(AuditError):
    """The audit database cannot be opened or written: locked, newer, foreign, full or damaged."""
