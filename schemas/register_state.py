"""The register of wrenches as the ledger tells it: wrenches, their calibrations and their checks, with their rows."""

from dataclasses import replace
from datetime import date
from decimal import Decimal

from schemas import database as db
from schemas.bodies import Calibrated, CheckMade, CheckVoided, WrenchAdded, WrenchMeasured
from schemas.check import day_of, error_percent
from schemas.errors import RecordError
from schemas.fastener_state import At
from schemas.job_rows import TableRow
from schemas.wrench import Wrench, calibrate, wrench_from

RegisterBody = WrenchAdded | WrenchMeasured | Calibrated | CheckMade | CheckVoided


class RegisterState:
    """The wrenches by id as they stand after the entries given so far."""

    def __init__(self) -> None:
        self.wrenches: dict[str, Wrench] = {}
        self._added: dict[str, tuple[int, WrenchAdded]] = {}
        self._checks: dict[int, tuple[At, CheckMade]] = {}

    def apply(self, at: At, body: RegisterBody) -> TableRow:
        """Take the next entry and give the row that it changes; RecordError where it names what was never entered."""
        match body:
            case WrenchAdded():
                self._added[body.wrench] = (at.seq, body)
                self.wrenches[body.wrench] = wrench_from(body)
                return self._wrench_row(body.wrench)
            case WrenchMeasured():
                known = self._known(body.wrench)
                self.wrenches[body.wrench] = replace(known, length_mm=Decimal(body.length_mm))
                return self._wrench_row(body.wrench)
            case Calibrated():
                self.wrenches[body.wrench] = calibrate(self._known(body.wrench), body)
                return self._wrench_row(body.wrench)
            case CheckMade():
                self._known(body.wrench)
                self._checks[at.seq] = (at, body)
                return check_row(at, body)
            case _:  # the check of another entry, taken back
                if body.check not in self._checks:
                    raise RecordError(f"the ledger takes back a check in entry {body.check}, where none is; run `verify`")
                return check_row(*self._checks[body.check], void=body.reason)

    def has_check(self, seq: int) -> bool:
        """Whether that entry is a check that was given."""
        return seq in self._checks

    def _known(self, wrench_id: str) -> Wrench:
        wrench = self.wrenches.get(wrench_id)
        if wrench is None:
            raise RecordError(f"the ledger speaks of wrench {wrench_id}, which was never added; run `verify`")
        return wrench

    def _wrench_row(self, wrench_id: str) -> TableRow:
        seq, added = self._added[wrench_id]
        wrench = self.wrenches[wrench_id]
        return db.WRENCH, (
            wrench_id, seq, added.serial, added.type, added.low, added.high, added.unit, added.measures, wrench.certificate,
            _text(wrench.calibrated_on), _text(wrench.due_on), _text(wrench.span_low_nm), _text(wrench.span_high_nm),
            added.simulated or 0, str(wrench.limit_percent), _text(wrench.adjusted_on), _text(wrench.length_mm),
        )  # fmt: skip


def _text(value: date | Decimal | None) -> str | None:
    return None if value is None else str(value)


def check_row(at: At, check: CheckMade, void: str | None = None) -> TableRow:
    """The row of a check; `void` is why it was taken back."""
    reference_nm, shown_nm = Decimal(check.reference_nm), Decimal(check.shown_nm)
    return db.WRENCH_CHECK, (
        at.seq, check.wrench, check.checked_at, day_of(check.checked_at), at.by, check.reference, check.shown, check.unit,
        check.reference_nm, check.shown_nm, float(reference_nm), error_percent(reference_nm, shown_nm), check.file, check.line,
        check.identity, void, check.simulated or 0,
    )  # fmt: skip
