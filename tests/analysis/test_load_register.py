"""The register as a reader sees it: ranges exact in N·m, the last calibration of each wrench."""

from contextlib import closing
from datetime import date
from decimal import Decimal

from analysis.load.database import open_audit
from analysis.load.register import load_wrenches
from collector.record.jobs import add_wrench, calibrate_wrench
from schemas.bodies import Calibrated, WrenchAdded
from schemas.wrench import Wrench


def test_wrenches_come_by_id_with_their_last_calibration(floor):
    with floor.recorder() as recorder:
        nine = WrenchAdded(
            "W-9", "SN-9", "setting", "20", "150", "lbf·ft", "27.1", "203.4", "click", limit_percent="2.5", length_mm="420"
        )
        add_wrench(recorder, nine, "person-1")
        add_wrench(recorder, WrenchAdded("W-10", "SN-10", "indicating", "5.0", "50", "N·m", "5.0", "50", "highest"), "person-1")
        calibrate_wrench(recorder, Calibrated("W-10", "C-1", "2025-01-10", "2026-01-09", "5", "50", adjusted=1), "person-1")
        calibrate_wrench(recorder, Calibrated("W-10", "C-2", "2026-01-10", "2027-01-09", "10", "50"), "person-1")
    with closing(open_audit(floor.path)) as db:
        first, second = load_wrenches(db)

    assert first == Wrench(
        "W-10", "SN-10", "indicating", Decimal("5.0"), Decimal(50), "N·m", "highest", Decimal(4), "C-2", date(2026, 1, 10),
        date(2027, 1, 9), Decimal(10), Decimal(50), date(2025, 1, 10),
    )  # fmt: skip
    # 20 and 150 lbf·ft from the exact foot and pound-force: NIST SP 811, appendix B.
    foot_pound = Decimal("0.3048") * Decimal("4.4482216152605")
    assert second == Wrench(
        "W-9", "SN-9", "setting", 20 * foot_pound, 150 * foot_pound, "lbf·ft", "click", Decimal("2.5"), length_mm=Decimal(420)
    )


def test_an_empty_register_gives_no_wrench(floor):
    with floor.recorder():
        pass
    with closing(open_audit(floor.path)) as db:
        assert load_wrenches(db) == ()
