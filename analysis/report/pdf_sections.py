"""The shorter lists of the PDF: wrenches, what persons said, corrections, gaps, strays; as plain texts."""

from collections.abc import Iterable, Sequence
from typing import Any

from analysis.load.places import isolated
from analysis.load.record import JobRecord, WrenchUsed
from analysis.load.record_pulls import MissingNumbers, NotReadRow, ReadingRow
from analysis.report import wording
from analysis.report.pdf_times import our_times, pull_times
from analysis.report.said import said_sections
from analysis.report.section import Cell, Section

_RAW_CHARS = 240


def sections_content(record: JobRecord) -> list[dict[str, Any]]:
    """One dict a section: `title`, `lines` above the table, and the table by `heads`, `widths` (shares) and `rows`.

    A row has `cells`, each a list (its text, then what stands small beneath), and whether it is so `long` that it may be
    parted over two pages. `mono` is the column of raw bytes, None where there is none.
    """
    sections = (
        _wrenches(record),
        *said_sections(record),
        _corrections(record),
        _gaps(record.missing),
        _links(record),
        _strays(record),
        _others(record),
        _not_read(record.not_read),
    )
    return [section.content() for section in sections if section is not None]


def _wrenches(record: JobRecord) -> Section:
    return Section(
        "Wrenches",
        ("Wrench", "Serial no., type", "Range, value sent", "Calibration in force, checks"),
        (1.3, 1.5, 1.6, 3.2),
        [_wrench(wrench) for wrench in record.wrenches],
        (
            *(() if record.wrenches else ("No reading names a wrench.",)),
            "Check policy: none is set in this version, so no reading was refused because of a check.",
        ),
    )


def _wrench(wrench: WrenchUsed) -> list[Cell]:
    length = [f"{wrench.length_mm} mm to the grip mark"] if wrench.length_mm is not None else []
    named = [wrench.wrench, f"{wrench.readings} reading{'' if wrench.readings == 1 else 's'}", *length]
    if wrench.serial is None:
        return [named, "not in the register", "", "none on record"]
    calibrations = [
        f"{isolated(one.certificate)}: {one.calibrated_on}, in date to {one.due_on}; {one.low_nm} to {one.high_nm} N·m"
        for one in wrench.calibrations
    ]
    return [
        named,
        [wrench.serial, wrench.type or ""],
        [f"{wrench.low} to {wrench.high} {wrench.unit}", wrench.measures or ""],
        [*(calibrations or ["none on record"]), wording.checks_text(wrench)],
    ]


def _corrections(record: JobRecord) -> Section:
    torques = {reading.n: [wording.value_text(reading), *_shown(reading)] for reading in record.readings}
    day, clocks = our_times(step.at for correction in record.corrections for step in correction.steps)
    clock = iter(clocks)
    rows: list[list[Cell]] = [
        [
            [f"{correction.n}, {'then' if place else 'first'}", *([] if place else torques.get(correction.n, []))],
            wording.place_text(step),
            [step.kind] if step.verdict is None else [step.kind, wording.verdict_text(step.verdict)],
            step.reason,
            [next(clock), step.by],
        ]
        for correction in record.corrections
        for place, step in enumerate(correction.steps)
    ]
    lines = ("Where a reading was placed anew, all that was ever said of it:",) if rows else ()
    heads = ("Reading", "Matched to", "As", "Why", "Time")
    return Section("Corrections", heads, (1.25, 2.5, 1.25, 1.9, 1.5), rows, lines, none="No reading was placed anew.", day=day)


def _gaps(missing: Iterable[MissingNumbers]) -> Section:
    lines = (
        f"Wrench {gap.wrench or 'not named'}: "
        + (f"number {gap.first} is missing." if gap.first == gap.last else f"numbers {gap.first} to {gap.last} are missing.")
        for gap in missing
    )
    return Section("Missing numbers", lines=tuple(lines), none="No gap in the wrenches' own numbering is known.")


def _links(record: JobRecord) -> Section:
    day, clocks = our_times(link.at for link in record.links)
    rows: list[list[Cell]] = [
        [[link.link, link.detail] if link.detail else link.link, link.source, link.joint_name or "", clock]
        for link, clock in zip(record.links, clocks, strict=True)
    ]
    heads = ("Link", "Source", "Joint in hand", "Time")
    return Section("Links", heads, (1.4, 2, 1.6, 1), rows, none="No change of a link is on record.", day=day)


def _strays(record: JobRecord) -> Section:
    day, clocks = pull_times(record.strays)
    rows: list[list[Cell]] = [
        [_number(reading), wording.value_text(reading), wording.wrench_text(reading.wrench), reading.reason or "", clock]
        for reading, clock in zip(record.strays, clocks, strict=True)
    ]
    lines = ("Readings that belong to no joint of this job:",) if rows else ()
    heads = ("No.", "Torque", "Wrench", "Why", "Time")
    return Section("Strays", heads, (0.6, 1.2, 1.1, 2.6, 1.2), rows, lines, day=day)


def _others(record: JobRecord) -> Section | None:
    counted = {stage.reading.n for fastener in record.fasteners for stage in fastener.stages if stage.reading is not None}
    elsewhere = {reading.n for reading in record.strays} | {correction.n for correction in record.corrections}
    others = [reading for reading in record.readings if reading.n not in counted | elsewhere]
    if not others:
        return None
    day, clocks = pull_times(others)
    rows: list[list[Cell]] = [
        [
            _number(reading),
            [wording.value_text(reading), *_shown(reading), *_turned(reading)],
            [wording.place_text(reading), *([] if reading.p is None else [f"p = {reading.p}"])],
            [reading.kind or "not matched", *([] if reading.verdict is None else [wording.verdict_text(reading.verdict)])],
            [part for part in (reading.reason or "", reading.notes, reading.unfit or "") if part] or "",
            clock,
        ]
        for reading, clock in zip(others, clocks, strict=True)
    ]
    gone = ", pulls on what a later revision took out" if any(change.gone for change in record.plan_changes) else ""
    lines = (f"Second clicks, pulls that were put right{gone} and the like; they stand for no fastener in the table above:",)
    heads = ("No.", "Torque", "Matched to", "As", "Why", "Time")
    return Section("Other readings", heads, (0.5, 1.9, 1.9, 1.2, 1.6, 1.1), rows, lines, day=day)


def _shown(reading: ReadingRow) -> list[str]:
    shown = wording.shown_text(reading)
    return [] if shown is None else [shown]


def _turned(reading: ReadingRow) -> list[str]:
    through = wording.through_text(reading)
    return [*([] if reading.angle_deg is None else [f"{reading.angle_deg}°"]), *([] if through is None else [through])]


def _number(reading: ReadingRow) -> list[str]:
    return [str(reading.n)] if reading.line is None else [str(reading.n), f"line {reading.line}"]


def _not_read(not_read: Sequence[NotReadRow]) -> Section:
    day, clocks = our_times(row.at for row in not_read)
    rows: list[list[Cell]] = [
        [row.fate if row.line is None else [row.fate, f"line {row.line}"], row.reason, _raw(row), clock]
        for row, clock in zip(not_read, clocks, strict=True)
    ]
    none = "Every frame and every row gave a reading."
    heads = ("What", "Why", "Raw bytes", "Time")
    mono = heads.index("Raw bytes")
    return Section("Unreadable and set aside", heads, (1.5, 2, 3.6, 1.2), rows, none=none, day=day, mono=mono)


def _raw(row: NotReadRow) -> list[str]:
    text = row.raw.text
    seen = [text[:_RAW_CHARS]]
    seen += [f"… {len(text) - _RAW_CHARS} more signs, in the attached record"] if len(text) > _RAW_CHARS else []
    return [*seen, "hex, as they are no text"] if text and text == row.raw.hex else seen
