"""The fasteners of a job for the PDF: a picture of each joint and the rows of the table, as plain texts."""

from collections.abc import Iterable, Sequence
from itertools import groupby
from typing import Any

from analysis.load.counted import counted_text, lowest_p
from analysis.load.places import positions
from analysis.load.reasons import why_text
from analysis.load.record import JobRecord
from analysis.load.record_pulls import FastenerRow, ReadingRow, StageDone
from analysis.report import wording
from analysis.report.joint_facts import joint_facts
from analysis.report.pdf_times import pull_time, shared_day
from analysis.report.printable import Fitted, is_long
from schemas.route import Joint
from schemas.words import PositionBy, Proof, StageWord, Verdict

# A larger ring would stand taller than it helps; such a joint is drawn in lines.
_RING_AT_MOST = 16
# The narrowest that these may come to stand in, in units of their size of type.
_PICTURE_EM, _WRENCH_EM, _CLOCK_EM, _TIME_EM = 8.0, 4.3, 4.5, 8.8
# A picture and a head that comes again are never parted, so they must not outgrow a page.
_NAME_CHARS, _FACTS_CHARS = 240, 800
_GOOD = frozenset({Verdict.IN_BAND, Verdict.HELD})


def joints_content(record: JobRecord) -> list[dict[str, Any]]:
    """One dict a joint, in the plan's order: `picture` and `table` as the template draws them."""
    day = pulled_day(record.fasteners)
    fasteners = {joint: list(group) for joint, group in groupby(record.fasteners, key=lambda fastener: fastener.joint)}
    return [
        {
            "name": Fitted(_capped(joint.name, _NAME_CHARS), _PICTURE_EM),
            "picture": _picture(joint, fasteners.get(joint.id, [])),
            "table": _table(joint, fasteners.get(joint.id, []), record, day),
        }
        for joint in record.route.joints
    ]


def pulled_day(fasteners: Sequence[FastenerRow]) -> str | None:
    """Day and zone that the finals of all these fasteners share, None where they differ."""
    finals = (fastener.final.reading for fastener in fasteners if fastener.final is not None)
    return shared_day(pull_time(reading) for reading in finals if reading is not None)


def _capped(text: str, chars: int) -> str:
    return text if len(text) <= chars else f"{text[:chars]}… ({len(text) - chars} more signs, in the attached record)"


def _picture(joint: Joint, fasteners: Sequence[FastenerRow]) -> dict[str, Any]:
    ring = joint.pattern == "circle" and 2 < len(fasteners) <= _RING_AT_MOST
    mirrored = joint.side == "right"
    marks = [{"position": str(fastener.position), "proof": str(fastener.proof)} for fastener in fasteners]
    said = [_said(proof, [fastener for fastener in fasteners if fastener.proof is proof], len(fasteners)) for proof in Proof]
    words = [line for line in said if line]
    return {
        "ring": ring,
        "mirrored": mirrored,
        # A line is read from the left, and the right one of two joints begins on its right.
        "marks": marks[::-1] if mirrored and not ring else marks,
        "words": [Fitted(line, _PICTURE_EM) for line in words],
        "alt": f"{joint.name}, {len(fasteners)} positions drawn as a {'ring' if ring else 'line'}: {'; '.join(words)}",
    }


def _said(proof: Proof, group: Sequence[FastenerRow], of: int) -> str:
    if not group:
        return ""
    if len(group) == of:
        return f"all {of} {proof}" if of > 1 else str(proof)
    if proof is Proof.PROVEN:
        return f"{len(group)} of {of} proven"
    return f"{proof}: {_positions(group)}"


def _positions(group: Iterable[FastenerRow]) -> str:
    return positions([fastener.position for fastener in group])


def _table(joint: Joint, fasteners: Sequence[FastenerRow], record: JobRecord, day_of_all: str | None) -> dict[str, Any]:
    day = day_of_all or pulled_day(fasteners)
    short = day is not None or not any(fastener.final and fastener.final.reading for fastener in fasteners)
    loading = next((row.text for row in record.loadings if row.joint == joint.id), "")
    pulled = f"pulled {day}" if day and not day_of_all else ""
    counted, lowest = counted_text(record, joint.id), lowest_p(record, joint.id)
    sure = f"lowest p = {lowest}" if lowest is not None else ""
    return {
        "id": joint.id,
        "facts": _capped("; ".join(filter(None, (joint_facts(joint), pulled, counted, sure, loading))), _FACTS_CHARS),
        "bands": "; ".join(_bands(fasteners[0].stages if fasteners else ())),
        "short": short,
        "rows": [_row(fastener, short=short) for fastener in fasteners],
        "whys": [*_whys(fasteners), *_through(fasteners), *_confirmed(fasteners), *_others(fasteners, record.fitter)],
    }


def _bands(stages: Sequence[StageDone]) -> list[str]:
    if not stages:
        return ["the procedure states no torque"]
    bands = []
    for stage in stages:
        nm = wording.band_nm_text(stage) if stage.unit != "N·m" else ""
        head = "band" if len(stages) == 1 else f"{_head(stage, stages)}:"
        bands.append(f"{head} {wording.band_text(stage)}{f', {nm}' if nm else ''}")
    return bands


def _head(stage: StageDone, stages: Sequence[StageDone]) -> str:
    text = wording.stage_text(stage, stages)
    return f"stage {text}" if text[:1].isdigit() else text


def _row(fastener: FastenerRow, *, short: bool) -> dict[str, Any]:
    row: dict[str, Any] = {
        "position": str(fastener.position),
        "proof": str(fastener.proof),
        **{"before": [], "after": [], "final": "not stated", "shown": None},
        **{"verdict": "", "good": True, "wrench": "", "time": "", "long": False},
    }
    final = fastener.final
    if final is None:
        return row
    pulls = [stage.reading for stage in fastener.stages if stage.reading is not None]
    wrenches = ", ".join(map(wording.wrench_text, dict.fromkeys(reading.wrench for reading in pulls)))
    time = _time(final.reading, short=short)
    place = fastener.stages.index(final)
    return {
        **row,
        "long": is_long((wrenches, time)),
        "before": [_beside(stage) for stage in fastener.stages[:place]],
        "final": "" if final.reading is None else _value(final.reading, final),
        "after": [_beside(stage) for stage in fastener.stages[place + 1 :]],
        "shown": None if final.reading is None else wording.shown_text(final.reading),
        "verdict": wording.verdict_text(final.verdict),
        "good": final.verdict in _GOOD,
        "wrench": Fitted(wrenches, _WRENCH_EM),
        "time": Fitted(time, _CLOCK_EM if short else _TIME_EM),
    }


def _value(reading: ReadingRow, stage: StageDone) -> str:
    """The digits alone where they are in the joint's unit, which stands in the line above."""
    if stage.word is not StageWord.ANGLE and reading.torque is not None and reading.unit == stage.unit:
        return str(reading.torque)
    return wording.done_text(reading, stage)


def _beside(stage: StageDone) -> str:
    """A stage before or after the final, in short."""
    if stage.reading is None:
        return "○ none"
    shape, _, word = wording.verdict_text(stage.verdict).partition(" ")
    said = shape if stage.verdict == Verdict.IN_BAND else f"{shape} {word}"
    return f"{_value(stage.reading, stage)} {said}"


def _time(reading: ReadingRow | None, *, short: bool) -> str:
    if reading is None:
        return ""
    time = pull_time(reading)
    return time.clock if short else time.full


def _whys(fasteners: Sequence[FastenerRow]) -> list[str]:
    groups: dict[tuple[str, str], list[FastenerRow]] = {}
    for fastener in fasteners:
        if why := why_text(fastener):
            groups.setdefault((fastener.proof, why), []).append(fastener)
    return [f"{_positions(group)} {proof}: {why}" for (proof, why), group in groups.items()]


def _through(fasteners: Sequence[FastenerRow]) -> list[str]:
    """Through which lever, and with which drag, the stages were judged."""
    groups: dict[str, dict[int, FastenerRow]] = {}
    for fastener in fasteners:
        for stage in fastener.stages:
            said = None if stage.reading is None else wording.through_text(stage.reading)
            if said is not None:
                head = f"stage {stage.number}: " if len(fastener.stages) > 1 else ""
                groups.setdefault(f"{head}{said}", {})[fastener.position] = fastener
    return [f"{_positions(group.values())} {said}" for said, group in groups.items()]


def _confirmed(fasteners: Sequence[FastenerRow]) -> list[str]:
    """Of which a person has said that their pull was on them; the others are counted in the plan's order."""
    groups: dict[str, dict[int, FastenerRow]] = {}
    for fastener in fasteners:
        for stage in fastener.stages:
            if stage.reading is not None and stage.reading.position_by == PositionBy.CONFIRMED:
                head = f"stage {stage.number}: " if len(fastener.stages) > 1 else ""
                groups.setdefault(f"{head}position confirmed", {})[fastener.position] = fastener
    return [f"{_positions(group.values())} {said}" for said, group in groups.items()]


def _others(fasteners: Sequence[FastenerRow], fitter: str) -> list[str]:
    """Who pulled, where it was not the job's fitter."""
    by: dict[str, dict[int, FastenerRow]] = {}
    for fastener in fasteners:
        for stage in fastener.stages:
            if stage.reading is not None and stage.reading.by != fitter:
                by.setdefault(stage.reading.by, {})[fastener.position] = fastener
    return [f"{_positions(group.values())} pulled by {name}" for name, group in by.items()]
