"""The shorter lists of a job's report: hold points, decisions, corrections, gaps, strays, wrenches; as plain texts."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from typing import Any

from analysis.load.places import isolated
from analysis.load.record import DecisionRow, JobRecord, MissingNumbers, NotReadRow, ReadingRow, WrenchUsed
from analysis.report import wording
from analysis.report.pdf_times import our_times, pull_times
from analysis.report.printable import Fitted, is_long

# Half a page less the gap, in units of the size of type that the tables have, and what a cell keeps free at its sides.
_COLUMN_EM = 39.0
_PADDING_EM = 0.7
_RAW_CHARS = 240

Cell = str | list[str]
"""A text; of a list, the first text is the cell's own and the others stand small beneath it."""


@dataclass(frozen=True, slots=True)
class _Section:
    title: str
    heads: tuple[str, ...] = ()
    widths: tuple[float, ...] = ()
    rows: list[list[Cell]] = field(default_factory=list)
    lines: tuple[str, ...] = ()
    none: str = "None."
    day: str = ""
    mono: int | None = None

    def content(self) -> dict[str, Any]:
        # Times with their day need more room than a clock alone.
        widths = (*self.widths[:-1], self.widths[-1] + 1.2) if self.heads[-1:] == ("Time",) and not self.day else self.widths
        rooms = [_COLUMN_EM * width / sum(widths) - _PADDING_EM for width in widths]
        rows = [_row([_fitted(cell, room) for cell, room in zip(row, rooms, strict=True)]) for row in self.rows]
        lines = self.lines if rows or self.lines else (self.none,)
        table = {"heads": self.heads, "widths": widths, "rows": rows, "mono": self.mono}
        return {"title": self.title, "day": self.day, "lines": list(lines), **table}


def _row(cells: list[list[str]]) -> dict[str, Any]:
    return {"cells": cells, "long": is_long(text for cell in cells for text in cell)}


def _fitted(cell: Cell, room_em: float) -> list[str]:
    return [Fitted(text, room_em) for text in ([cell] if isinstance(cell, str) else cell)]


def sections_content(record: JobRecord) -> list[dict[str, Any]]:
    """One dict a section: `title`, `lines` above the table, and the table by `heads`, `widths` (shares) and `rows`.

    A row has `cells`, each a list (its text, then what stands small beneath), and whether it is so `long` that it may be
    parted over two pages. `mono` is the column of raw bytes, None where there is none.
    """
    sections = (
        _wrenches(record),
        _hold_points(record),
        _decisions(record),
        _retorques(record),
        _corrections(record),
        _gaps(record.missing),
        _links(record),
        _strays(record),
        _others(record),
        _not_read(record.not_read),
    )
    return [section.content() for section in sections if section is not None]


def _wrenches(record: JobRecord) -> _Section:
    return _Section(
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
    named = [wrench.wrench, f"{wrench.readings} reading{'' if wrench.readings == 1 else 's'}"]
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


def _hold_points(record: JobRecord) -> _Section:
    snug = [signature for signature in record.signatures if signature.snug is not None]
    signed = [point.signature for point in record.hold_points]
    day, cells = our_times(signature.at for signature in (*signed, *snug) if signature is not None)
    clocks = iter(cells)
    rows: list[list[Cell]] = []
    for point, signature in zip(record.hold_points, signed, strict=True):
        by: list[Cell] = ["not signed", ""] if signature is None else [[signature.by, f"as {signature.role}"], next(clocks)]
        rows.append([[point.hold_point, point.ask], point.sign, *by])
    rows += [[f"Snug round: {one.snug_name}", one.role, [one.by, f"as {one.role}"], next(clocks)] for one in snug]
    none = "The plan has no hold point, and nothing was signed."
    heads = ("What", "Asked of", "Signed by", "Time")
    return _Section("Hold points and signatures", heads, (3.8, 1.2, 1.5, 1), rows, none=none, day=day)


def _decisions(record: JobRecord) -> _Section:
    day, clocks = our_times(decision.at for decision in record.decisions)
    rows: list[list[Cell]] = [
        [_said(decision), _spoken_of(decision), decision.by, clock]
        for decision, clock in zip(record.decisions, clocks, strict=True)
    ]
    return _Section("Decisions", ("What was said", "Of", "By", "Time"), (2, 3, 1.5, 1), rows, day=day)


def _said(decision: DecisionRow) -> str:
    return decision.said if decision.of is None else f"{decision.said}: {decision.count} of {decision.of} seen"


def _spoken_of(decision: DecisionRow) -> str:
    place = [isolated(decision.joint_name)] if decision.joint_name is not None else []
    place += [str(decision.position)] if decision.position is not None else []
    place += [f"reading {decision.reading}"] if decision.reading is not None else []
    return ", ".join(place)


def _retorques(record: JobRecord) -> _Section:
    lines = (
        f"{'; '.join(map(isolated, due.joints))}: from {isolated(due.span)}; a retorque is not recorded by this version"
        for due in record.retorques
    )
    return _Section("Retorque due", lines=tuple(lines), none="The plan asks for none.")


def _corrections(record: JobRecord) -> _Section:
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
    return _Section("Corrections", heads, (1.25, 2.5, 1.25, 1.9, 1.5), rows, lines, none="No reading was placed anew.", day=day)


def _gaps(missing: Iterable[MissingNumbers]) -> _Section:
    lines = (
        f"Wrench {gap.wrench or 'not named'}: "
        + (f"number {gap.first} is missing." if gap.first == gap.last else f"numbers {gap.first} to {gap.last} are missing.")
        for gap in missing
    )
    return _Section("Missing numbers", lines=tuple(lines), none="No gap in the wrenches' own numbering is known.")


def _links(record: JobRecord) -> _Section:
    day, clocks = our_times(link.at for link in record.links)
    rows: list[list[Cell]] = [
        [[link.link, link.detail] if link.detail else link.link, link.source, link.joint_name or "", clock]
        for link, clock in zip(record.links, clocks, strict=True)
    ]
    heads = ("Link", "Source", "Joint in hand", "Time")
    return _Section("Links", heads, (1.4, 2, 1.6, 1), rows, none="No change of a link is on record.", day=day)


def _strays(record: JobRecord) -> _Section:
    day, clocks = pull_times(record.strays)
    rows: list[list[Cell]] = [
        [_number(reading), wording.value_text(reading), wording.wrench_text(reading.wrench), reading.reason or "", clock]
        for reading, clock in zip(record.strays, clocks, strict=True)
    ]
    lines = ("Readings that belong to no joint of this job:",) if rows else ()
    heads = ("No.", "Torque", "Wrench", "Why", "Time")
    return _Section("Strays", heads, (0.6, 1.2, 1.1, 2.6, 1.2), rows, lines, day=day)


def _others(record: JobRecord) -> _Section | None:
    counted = {stage.reading.n for fastener in record.fasteners for stage in fastener.stages if stage.reading is not None}
    elsewhere = {reading.n for reading in record.strays} | {correction.n for correction in record.corrections}
    others = [reading for reading in record.readings if reading.n not in counted | elsewhere]
    if not others:
        return None
    day, clocks = pull_times(others)
    rows: list[list[Cell]] = [
        [
            _number(reading),
            [wording.value_text(reading), *_shown(reading)],
            wording.place_text(reading),
            [reading.kind or "not matched", *([] if reading.verdict is None else [wording.verdict_text(reading.verdict)])],
            [part for part in (reading.reason or "", reading.notes, reading.unfit or "") if part] or "",
            clock,
        ]
        for reading, clock in zip(others, clocks, strict=True)
    ]
    lines = ("Second clicks, pulls that were put right, rechecks and the like; they stand for no fastener in the table above:",)
    heads = ("No.", "Torque", "Matched to", "As", "Why", "Time")
    return _Section("Other readings", heads, (0.6, 1.3, 2.2, 1.2, 1.8, 1.1), rows, lines, day=day)


def _shown(reading: ReadingRow) -> list[str]:
    shown = wording.shown_text(reading)
    return [] if shown is None else [shown]


def _number(reading: ReadingRow) -> list[str]:
    return [str(reading.n)] if reading.line is None else [str(reading.n), f"line {reading.line}"]


def _not_read(not_read: Sequence[NotReadRow]) -> _Section:
    day, clocks = our_times(row.at for row in not_read)
    rows: list[list[Cell]] = [
        [row.fate if row.line is None else [row.fate, f"line {row.line}"], row.reason, _raw(row), clock]
        for row, clock in zip(not_read, clocks, strict=True)
    ]
    none = "Every frame and every row gave a reading."
    heads = ("What", "Why", "Raw bytes", "Time")
    mono = heads.index("Raw bytes")
    return _Section("Unreadable and set aside", heads, (1.5, 2, 3.6, 1.2), rows, none=none, day=day, mono=mono)


def _raw(row: NotReadRow) -> list[str]:
    text = row.raw.text
    seen = [text[:_RAW_CHARS]]
    seen += [f"… {len(text) - _RAW_CHARS} more signs, in the attached record"] if len(text) > _RAW_CHARS else []
    return [*seen, "hex, as they are no text"] if text and text == row.raw.hex else seen
