"""What persons said, signed and changed, as lists of the report; the same for PDF and HTML. Pure."""

from collections.abc import Iterator

from analysis.load.places import isolated
from analysis.load.record import JobRecord
from analysis.load.record_said import DecisionRow, HoldPointRow, PlanChangeRow, SignatureRow
from analysis.report.pdf_times import our_times
from analysis.report.section import Cell, Section
from analysis.report.wording import value_text
from schemas.words import PositionBy, Said

# What stands in a list of its own.
_ELSEWHERE = frozenset({Said.PREPARED, Said.AS_FOUND, Said.MOVED, Said.POSITION})
# Words that say too little without the question that they answer.
_WORDS = {str(Said.NOT_DONE): "seen not done", str(Said.NOT_LOOKED): "not looked at, or not to be reached"}


def said_sections(record: JobRecord) -> list[Section]:
    """The lists in their order; those that most jobs do not have are left out where they are empty."""
    sections = (_signed(record), _decisions(record), *_seldom(record), _retorques(record))
    return [section for section in sections if section is not None]


def _seldom(record: JobRecord) -> Iterator[Section]:
    made = (
        _preparations(record), _found(record), _moved(record), _positions(record), _hand_overs(record), _added(record),
        _plan_changes(record), _findings(record),
    )  # fmt: skip
    return (section for section in made if section.rows)


def _findings(record: JobRecord) -> Section:
    rows: list[list[Cell]] = [[isolated(line)] for line in record.findings]
    lines = ("What the check of the plan had found, and nobody had accepted, when the job went on it; it asks, the maker rules:",)
    return Section("Findings open on the plan", ("Finding",), (1,), rows, lines)


def _signed(record: JobRecord) -> Section:
    rows: list[tuple[list[Cell], str]] = []
    for point in record.hold_points:
        rows += [(_hold_point(point), point.signature.at if point.signature else "")]
        rows += [(_outside(point, signature), signature.at) for signature in point.outside]
    rows += [(_round(one), one.at) for one in record.signatures if one.hold_point is None]
    known = {point.hold_point for point in record.hold_points}
    former = (one for one in record.signatures if one.hold_point is not None and one.hold_point not in known)
    rows += [([[str(one.hold_point), "of an earlier revision"], one.role, _by(one)], one.at) for one in former]
    day, cells = our_times(at for _, at in rows if at)
    clocks = iter(cells)
    table: list[list[Cell]] = [[*row, next(clocks) if at else ""] for row, at in rows]
    none = "The plan has no hold point, and nothing was signed."
    heads = ("What", "Asked of", "Signed by", "Time")
    return Section("Hold points and signatures", heads, (3.2, 1.1, 2.1, 1.1), table, none=none, day=day)


def _hold_point(point: HoldPointRow) -> list[Cell]:
    what = [point.hold_point, point.ask, *([f"allowed: {point.limits}"] if point.limits else [])]
    return [what, point.sign, _by(point.signature, point.late) if point.signature else "not signed"]


def _outside(point: HoldPointRow, signature: SignatureRow) -> list[Cell]:
    return [[point.hold_point, "outside its limits: not passed"], point.sign, _by(signature)]


def _round(one: SignatureRow) -> list[Cell]:
    what = f"Snug round: {one.snug_name}" if one.snug is not None else f"Second person: {one.second_name}"
    return [what, one.role, _by(one)]


def _by(signature: SignatureRow, late: str = "") -> list[str]:
    measured = f"measured {signature.value} {signature.unit or ''}".strip() if signature.value is not None else ""
    return [signature.by, *filter(None, (f"as {signature.role}", measured, late, *signature.notes))]


def _decisions(record: JobRecord) -> Section:
    decisions = [decision for decision in record.decisions if decision.said not in _ELSEWHERE]
    day, clocks = our_times(decision.at for decision in decisions)
    rows: list[list[Cell]] = [
        [_said(decision), _spoken_of(decision), [decision.by, *decision.notes], clock]
        for decision, clock in zip(decisions, clocks, strict=True)
    ]
    return Section("Decisions", ("What was said", "Of", "By", "Time"), (2.2, 2.6, 1.7, 1.1), rows, day=day)


def _said(decision: DecisionRow) -> list[str]:
    word = _WORDS.get(decision.said, decision.said)
    said = word if decision.of is None else f"{word}: {_seen(decision)} of {decision.of} seen"
    value = _value(decision)
    step = f"step {decision.step} of the plan" if decision.step is not None else ""
    return [said, *filter(None, (value, decision.tool, decision.reason, step))]


def _seen(decision: DecisionRow) -> str:
    return "not all" if decision.count is None else str(decision.count)


def _value(decision: DecisionRow) -> str:
    return "" if decision.value is None else f"{decision.value} {decision.unit or ''}".strip()


def _spoken_of(decision: DecisionRow) -> str:
    place = [isolated(decision.joint_name)] if decision.joint_name is not None else []
    place += [str(decision.position)] if decision.position is not None else []
    place += [f"reading {decision.reading}"] if decision.reading is not None else []
    return ", ".join(place)


def _preparations(record: JobRecord) -> Section:
    day, clocks = our_times(row.at for row in record.preparations)
    rows: list[list[Cell]] = [
        [
            [
                row.joint_name if row.position is None else f"{isolated(row.joint_name)}, {row.position}",
                f"{row.prep}, lot {isolated(row.lot or 'not named')}",
            ],
            row.when,
            row.by,
            clock,
        ]
        for row, clock in zip(record.preparations, clocks, strict=True)
    ]
    heads = ("Prepared", "Against the pulls", "By", "Time")
    return Section("Preparations", heads, (2.8, 2.5, 1.5, 1.2), rows, day=day)


def _found(record: JobRecord) -> Section:
    day, clocks = our_times(row.at for row in record.found)
    rows: list[list[Cell]] = [
        [_spoken_of(row), _value(row) or "no value", row.by, clock] for row, clock in zip(record.found, clocks, strict=True)
    ]
    lines = ("The torque found on a fastener before it was opened, as a person entered it:",)
    return Section("As found", ("Fastener", "Found", "By", "Time"), (3, 1.3, 1.5, 1), rows, lines, day=day)


def _moved(record: JobRecord) -> Section:
    moved = [row for row in record.decisions if row.said == Said.MOVED]
    torques = {reading.n: value_text(reading) for reading in record.readings}
    day, clocks = our_times(row.at for row in moved)
    rows: list[list[Cell]] = [
        [_spoken_of(row), torques.get(row.reading or 0, ""), row.by, clock] for row, clock in zip(moved, clocks, strict=True)
    ]
    lines = ("Fasteners that were tight and turned on when they were gone over again:",)
    return Section("Moved", ("Fastener", "Torque", "Said by", "Time"), (3, 1.3, 1.5, 1), rows, lines, day=day)


def _positions(record: JobRecord) -> Section:
    """One row a joint and person, since a shop may ask at each pull; only of words that still hold."""
    holds = {(one.n, one.joint, one.position) for one in record.readings if one.position_by == PositionBy.CONFIRMED}
    said: dict[tuple[str | None, str], list[DecisionRow]] = {}
    for row in record.decisions:
        if row.said == Said.POSITION and (row.reading, row.joint, row.position) in holds:
            said.setdefault((row.joint_name, row.by), []).append(row)
    day, clocks = our_times(rows[-1].at for rows in said.values())
    table: list[list[Cell]] = [
        [isolated(name or ""), ", ".join(f"{row.position} (reading {row.reading})" for row in rows), by, clock]
        for ((name, by), rows), clock in zip(said.items(), clocks, strict=True)
    ]
    lines = ("On which of alike fasteners a pull was, as a person said; all others are counted in the plan's order:",)
    return Section("Positions confirmed", ("Joint", "Fastener", "Said by", "Last said"), (2, 3, 1.5, 1), table, lines, day=day)


def _hand_overs(record: JobRecord) -> Section:
    day, cells = our_times(at for row in record.hand_overs for at in (row.at, row.taken_at) if at is not None)
    clock = iter(cells)
    rows: list[list[Cell]] = [
        [
            [*row.open] or "nothing was open",
            [row.leaver, f"signed {next(clock)}"],
            [row.taker, "did not sign" if row.taken_at is None else f"signed {next(clock)}"],
        ]
        for row in record.hand_overs
    ]
    return Section("Hand-overs", ("Open when handed over", "By", "To"), (3, 1.6, 1.6), rows, day=day)


def _added(record: JobRecord) -> Section:
    day, clocks = our_times(row.at for row in record.joints_added)
    rows: list[list[Cell]] = [
        [[row.name, row.joint], str(row.fasteners), row.source, row.by, clock]
        for row, clock in zip(record.joints_added, clocks, strict=True)
    ]
    heads = ("Joint", "Fasteners", "Figures from", "Added by", "Time")
    return Section("Joints added to the plan", heads, (2, 1.1, 2, 1.4, 1), rows, day=day)


def _plan_changes(record: JobRecord) -> Section:
    day, clocks = our_times(row.at for row in record.plan_changes)
    rows: list[list[Cell]] = [
        [
            [f"from here on revision {isolated(row.revision)}", *([f"without: {_gone(row)}"] if row.gone else [])],
            row.reason,
            row.by,
            clock,
        ]
        for row, clock in zip(record.plan_changes, clocks, strict=True)
    ]
    return Section("Changes of the plan", ("What", "Why", "By", "Time"), (2.4, 2.4, 1.5, 1), rows, day=day)


def _gone(change: PlanChangeRow) -> str:
    return "; ".join(f"{isolated(name)} ({joint})" for joint, name in zip(change.gone, change.gone_names, strict=True))


def _retorques(record: JobRecord) -> Section:
    lines = []
    for due in record.retorques:
        method = f", {due.method}" if due.method else ""
        became = "; ".join(isolated(job.text) for job in due.jobs) or "no job was opened for it yet"
        lines.append(f"{'; '.join(map(isolated, due.joints))}: from {isolated(due.span)}{method}: {became}")
    return Section("Retorques", lines=tuple(lines), none="The plan asks for none.")
