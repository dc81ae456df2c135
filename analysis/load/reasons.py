"""Why a torque record is not complete, and what it leans on besides proof, in lines that fit on a report's first page."""

from collections.abc import Iterable, Sequence

from analysis.load.places import IN_TABLES, ROOMS, Room, fitting, isolated, places, shortened
from analysis.load.record_pulls import FastenerRow, MissingNumbers
from analysis.load.record_said import HoldPointRow
from schemas.words import PROOF_ORDER, Proof

_NO_HINDRANCE = frozenset({Proof.PROVEN, Proof.DECLARED, Proof.NOT_FITTED})
_NAMED = (Proof.DECLARED, Proof.NOT_FITTED)
# How many rows of page one each list may take.
_REASON_ROWS, _NAMED_ROWS = 15, 4
_ALL_NAMED = Room(100, 100, 240)


def reasons_not_complete(
    held_complete: bool,
    fasteners: Sequence[FastenerRow],
    hold_points: Iterable[HoldPointRow],
    missing: Iterable[MissingNumbers],
) -> tuple[str, ...]:
    """One line a reason, the worst first; empty where nothing stands against it.

    Of a long list the first are named and the others counted. `held_complete` is what the database's own row of the job
    says; where that and the rows disagree, "not complete" stands, and a line says so.
    """
    unsigned = [point.hold_point for point in hold_points if point.signature is None]
    gaps = list(missing)
    reasons = fitting(_REASON_ROWS, lambda room: [*_unproven(fasteners, room), *_unsigned(unsigned, room), *_missing(gaps, room)])
    if not fasteners:
        reasons.append("the plan has no fasteners")
    if held_complete != (not reasons):
        held = "complete" if held_complete else "not complete"
        reasons.append(f"the database's line for the job says {held}, its rows say otherwise; run `witnessmark verify`")
    return tuple(reasons)


def named_unproven(fasteners: Sequence[FastenerRow]) -> list[str]:
    """The fasteners that a person answers for and no wrench has proven, with who and why; none of them is a hindrance."""
    return fitting(_NAMED_ROWS, lambda room: _answered_for(fasteners, _NAMED, room), (_ALL_NAMED, *ROOMS))


def let_stand(fasteners: Sequence[FastenerRow]) -> list[str]:
    """The fasteners whose proof holds because the lead let something stand, with what, why, and who said so."""
    noted = [fastener for fastener in fasteners if fastener.why]
    return fitting(_NAMED_ROWS, lambda room: _answered_for(noted, (Proof.PROVEN,), room), (_ALL_NAMED, *ROOMS))


def _answered_for(fasteners: Sequence[FastenerRow], proofs: Sequence[Proof], room: Room) -> list[str]:
    return [
        f"{places(group, room)}: {proof}{f' ({why})' if why else ''}"
        for proof in proofs
        for why, group in _by_why(fasteners, proof, room)
    ]


def why_text(fastener: FastenerRow) -> str:
    """Why a fastener is no better; of one that a person answers for, all that he or she said."""
    said = fastener.said
    if said is None:
        return fastener.why
    if fastener.proof is not Proof.DECLARED or said.step is not None:
        return f"{fastener.why}; says {isolated(said.by)}"
    value = f"{said.value} {said.unit or ''}".strip() if said.value is not None else "no value"
    return f"{', '.join(filter(None, (said.tool or 'no tool named', value, said.reason)))}; says {isolated(said.by)}"


def _unproven(fasteners: Sequence[FastenerRow], room: Room) -> Iterable[str]:
    for proof in reversed(PROOF_ORDER):
        for why, group in _by_why(fasteners, proof, room) if proof not in _NO_HINDRANCE else ():
            count = f"{len(group)} fastener{'' if len(group) == 1 else 's'}"
            yield f"{count} {proof}: {places(group, room)}{f' ({why})' if why else ''}"


def _by_why(fasteners: Iterable[FastenerRow], proof: Proof, room: Room) -> list[tuple[str, list[FastenerRow]]]:
    groups: dict[str, list[FastenerRow]] = {}
    for fastener in fasteners:
        if fastener.proof is proof:
            # A missed fastener needs no further reason: that nothing was done is the reason.
            why = "" if proof in (Proof.MISSED, Proof.LEFT_LOOSE) else why_text(fastener)
            groups.setdefault(why, []).append(fastener)
    told = list(groups.items())
    others = [fastener for _, group in told[room.lines :] for fastener in group]
    shown = [(shortened(why, 2 * room.signs), group) for why, group in told[: room.lines]]
    return [*shown, *([(f"other reasons: {IN_TABLES}", others)] if others else [])]


def _unsigned(hold_points: Sequence[str], room: Room) -> Iterable[str]:
    for hold_point in hold_points[: room.lines]:
        yield f"hold point `{shortened(hold_point, room.signs)}` is not signed"
    left = len(hold_points) - room.lines
    if left > 0:
        yield f"{left} more hold point{' is' if left == 1 else 's are'} not signed: see Hold points and signatures in the report"


def _missing(gaps: Sequence[MissingNumbers], room: Room) -> Iterable[str]:
    for gap in gaps[: room.lines]:
        yield f"readings missing: {_numbers(gap, room.signs)}"
    left = len(gaps) - room.lines
    if left > 0:
        yield f"readings missing: {left} more gap{'' if left == 1 else 's'}: see Missing numbers in the report"


def _numbers(gap: MissingNumbers, signs: int) -> str:
    wrench = shortened(gap.wrench, signs) or "wrench not named,"
    return f"{wrench} number {gap.first}" if gap.first == gap.last else f"{wrench} numbers {gap.first}-{gap.last}"
