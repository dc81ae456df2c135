"""Why a torque record is not complete, in lines fit to read."""

from collections.abc import Iterable, Sequence

from analysis.load.record import FastenerRow, HoldPointRow, MissingNumbers
from schemas.words import PROOF_ORDER, Proof

_NO_HINDRANCE = frozenset({Proof.PROVEN, Proof.DECLARED, Proof.NOT_FITTED})


def reasons_not_complete(
    held_complete: bool,
    fasteners: Sequence[FastenerRow],
    hold_points: Iterable[HoldPointRow],
    missing: Iterable[MissingNumbers],
) -> tuple[str, ...]:
    """One line a reason, the worst first; empty where nothing stands against it.

    `held_complete` is what the database's own row of the job says; where that and the rows disagree, "not complete"
    stands, and a line says so.
    """
    reasons = [
        *_fastener_reasons(fasteners),
        *(f"hold point `{point.hold_point}` is not signed" for point in hold_points if point.signature is None),
        *(f"readings missing: {_numbers(gap)}" for gap in missing),
    ]
    if not fasteners:
        reasons.append("the plan has no fasteners")
    if held_complete != (not reasons):
        held = "complete" if held_complete else "not complete"
        reasons.append(f"the database's line for the job says {held}, its rows say otherwise; run `witnessmark verify`")
    return tuple(reasons)


def _fastener_reasons(fasteners: Iterable[FastenerRow]) -> Iterable[str]:
    groups: dict[tuple[Proof, str], list[FastenerRow]] = {}
    for fastener in fasteners:
        if fastener.proof not in _NO_HINDRANCE:
            # A missed fastener needs no further reason: that nothing was done is the reason.
            why = "" if fastener.proof in (Proof.MISSED, Proof.LEFT_LOOSE) else fastener.why
            groups.setdefault((fastener.proof, why), []).append(fastener)
    for (proof, why), group in sorted(groups.items(), key=lambda item: -PROOF_ORDER.index(item[0][0])):
        count = f"{len(group)} fastener{'' if len(group) == 1 else 's'}"
        yield f"{count} {proof}: {places(group)}{f' ({why})' if why else ''}"


def places(fasteners: Iterable[FastenerRow]) -> str:
    """Fasteners by the name of their joint, `Hub nuts, left, 1-3, 5; Shackle bolts, 2`."""
    by_joint: dict[str, tuple[str, list[int]]] = {}
    for fastener in fasteners:
        by_joint.setdefault(fastener.joint, (fastener.joint_name, []))[1].append(fastener.position)
    return "; ".join(f"{name}, {_ranges(positions)}" for name, positions in by_joint.values())


def _ranges(positions: list[int]) -> str:
    runs: list[list[int]] = []
    for position in positions:
        if runs and runs[-1][-1] == position - 1:
            runs[-1].append(position)
        else:
            runs.append([position])
    return ", ".join(str(run[0]) if len(run) == 1 else f"{run[0]}-{run[-1]}" for run in runs)


def _numbers(gap: MissingNumbers) -> str:
    wrench = gap.wrench or "wrench not named,"
    return f"{wrench} number {gap.first}" if gap.first == gap.last else f"{wrench} numbers {gap.first}-{gap.last}"
