"""Draws the drift of a wrench, for a file of its own and for a report."""

from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

from collector.cli.outfile import form_of, whole_file

if TYPE_CHECKING:
    from analysis.measure_wrench import WrenchDrift
    from analysis.plot_drift import DriftView
    from analysis.report.pdf import Chart


def write_chart(drift: "WrenchDrift", target: Path, database: Path, today: date) -> None:
    """Write the chart of a wrench in the form that the file's ending names, whole or not at all."""
    from analysis.plot_drift import plot_drift

    picture = plot_drift(drift_view(drift, today), form_of(target, "png", "svg"))
    with whole_file(target, database) as part:
        part.write_bytes(picture)


def report_chart(drift: "WrenchDrift", today: date) -> "Chart":
    """The chart of a wrench for a report: the check torque that presses most, and the findings at the others as lines."""
    from analysis.plot_drift import alt_text, most_pressing, plot_drift, title_of
    from analysis.report.pdf import Chart
    from analysis.wording_drift import finding

    whole = drift_view(drift, today)
    view = most_pressing(whole)
    others = [finding(line, view.limit_percent, today) for line in whole.lines if line not in view.lines]
    return Chart(view.wrench, title_of(view), alt_text(view), plot_drift(view, "svg", titled=False), tuple(others))


def drift_view(drift: "WrenchDrift", today: date) -> "DriftView":
    """One wrench as its chart shows it."""
    from analysis.plot_drift import DriftView

    wrench = drift.wrench
    return DriftView(
        wrench=wrench.id,
        serial=wrench.serial,
        limit_percent=float(wrench.limit_percent),
        checks=drift.checks,
        lines=drift.lines,
        calibrations=drift.calibrations,
        today=today,
        simulated=wrench.simulated,
    )
