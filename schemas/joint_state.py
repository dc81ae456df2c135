"""One joint as its pulls, decisions and gaps make it, and the proof of each of its fasteners."""

from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass, field
from decimal import Decimal
from typing import Any

from schemas.bodies import Decided, MatchKept
from schemas.fastener_state import FastenerState, Pull
from schemas.route import Joint
from schemas.words import PROOF_ORDER, Kind, Proof, Said, Verdict

P_LIMIT = Decimal("0.99")
"""From this probability on a match counts as sure; below it the joint needs a person's confirmation."""

Event = Pull | tuple[int, Any]
_RANK = {proof: rank for rank, proof in enumerate(PROOF_ORDER)}


@dataclass(frozen=True, slots=True)
class Summary:
    """What the state of a joint comes to: each fastener's proof with why it is no better, and what is counted of them.

    `done` counts the finals, in or out of band; `all_done` says that none is lacking or still under.
    """

    proofs: tuple[tuple[Proof, tuple[str, ...]], ...]
    counts: Mapping[Proof, int]
    worst: Proof
    done: int
    all_done: bool


@dataclass(slots=True)
class JointState:
    """One joint; `events` in the order of the ledger make the rest, so a revised match is taken by replaying them.

    `after` are the hold points that must be signed first, `loose` says that the plan leaves it loose for a while,
    `signed` are the hold points signed so far (the job's own, shared).
    """

    joint: Joint
    after: tuple[str, ...]
    loose: bool
    signed: Mapping[str, Any]
    events: list[Event] = field(default_factory=list)
    fasteners: list[FastenerState] = field(init=False)
    confirmed_seq: int | None = None
    denied: str | None = None
    gap_seq: int | None = None
    snugs: list[int] = field(default_factory=list)
    _summary: Summary | None = None

    def __post_init__(self) -> None:
        self._reset()

    def _reset(self) -> None:
        stages = len(self.joint.stages)
        self._summary = None
        self.fasteners = [FastenerState([None] * stages, [[] for _ in range(stages)]) for _ in range(self.joint.fasteners)]
        self.confirmed_seq = self.denied = self.gap_seq = None

    def take(self, pull: Pull) -> None:
        """Take a newly matched pull; one that belonged elsewhere before is put in its place by its number."""
        self.events.append(pull)
        if len(self.events) > 1 and _seq(self.events[-2]) > pull.seq:
            self.events.sort(key=_seq)
            self.replay()
        else:
            self._step(pull)

    def take_decision(self, seq: int, decided: Decided) -> None:
        """Take what a person said of this joint."""
        self.events.append((seq, decided))
        self._step(self.events[-1])

    def take_gap(self, seq: int) -> None:
        """The link was lost while this joint was in hand."""
        self.events.append((seq, None))
        self._step(self.events[-1])

    def take_snug(self, seq: int) -> None:
        """The snug round was signed."""
        self.snugs.append(seq)
        self._summary = None

    def is_snug(self, position: int, before: int | None = None) -> bool:
        """Whether the snug round was signed since a fastener was last opened, and before the entry of that number."""
        opened = self.fasteners[position - 1].opened_seq
        return any(opened < seq and (before is None or seq < before) for seq in self.snugs)

    def continue_pull(self, pull: Pull, match: MatchKept) -> None:
        """A pull below the band turned out to be a short pull on the same fastener: the same as a replay, but at once.

        A log of nothing but short pulls would otherwise replay its joint at every row.
        """
        fastener = self.fasteners[(match.position or 0) - 1]
        stage = match.stage or 0
        # With an over-torque open, or with something later at the same stage, what came after could have another meaning.
        if fastener.over is None and fastener.stages[stage - 1] is pull:
            fastener.drop(stage)
            self._summary = None
        else:
            self.replay()

    def replay(self) -> None:
        """Make the state anew from the events, after a match was revised."""
        self._reset()
        self.events = [
            event for event in self.events if not isinstance(event, Pull) or (event.match and event.match.joint == self.joint.id)
        ]
        for event in self.events:
            self._step(event)

    def _step(self, event: Event) -> None:
        self._summary = None
        if isinstance(event, Pull):
            match = event.match
            if match is not None and match.position is not None:
                self.fasteners[match.position - 1].take(event, match)
                # Something was done after "not all stripes seen", so the question is asked anew.
                self.denied = None
                # Who saw all stripes said nothing of what was done since; a click on a fastener already done changes nothing.
                if match.kind not in (Kind.REPEAT, Kind.RECHECK):
                    self.confirmed_seq = None
            return
        seq, decided = event
        if decided is None:
            self.gap_seq = seq
        else:
            self._decide(seq, decided)

    def _decide(self, seq: int, decided: Decided) -> None:
        touched = [self.fasteners[decided.position - 1]] if decided.position else self.fasteners
        if decided.said == Said.OPENED:
            self.confirmed_seq = None
            for fastener in touched:
                fastener.open(seq)
        elif decided.said in (Said.INSPECTED, Said.REPLACED):
            for fastener in touched:
                fastener.decide()
        elif decided.said == Said.STRIPES:
            whole = decided.count == decided.of == self.joint.fasteners
            self.confirmed_seq = seq if whole else None
            seen = "not all" if decided.count is None else decided.count
            self.denied = None if whole else f"{seen} of {decided.of} stripes seen"

    @property
    def summary(self) -> Summary:
        """What it all comes to; worked out once for as long as nothing changes."""
        if self._summary is None:
            finals = [fastener.stages[-1] for fastener in self.fasteners]
            proofs = tuple(self._prove(position) for position in range(1, self.joint.fasteners + 1))
            counts = Counter(proof for proof, _ in proofs)
            done = [pull for pull in finals if pull is not None]
            all_done = len(done) == len(finals) and all(pull.verdict != Verdict.UNDER for pull in done)
            self._summary = Summary(proofs, counts, max(counts, key=_RANK.__getitem__), len(done), all_done)
        return self._summary

    @property
    def all_done(self) -> bool:
        """Each fastener has its final, in band or over; one below the band is continued first."""
        return self.summary.all_done

    @property
    def waits_for_stripes(self) -> bool:
        """Every final is done and nobody has said yet how many stripes there are."""
        return self.all_done and self.confirmed_seq is None and self.denied is None

    def proof(self, position: int) -> tuple[Proof, tuple[str, ...]]:
        """What the record shows of one fastener (1 to n), and why it is no better; no reason where it is proven."""
        return self.summary.proofs[position - 1]

    def _prove(self, position: int) -> tuple[Proof, tuple[str, ...]]:
        fastener = self.fasteners[position - 1]
        if fastener.over is not None:
            return Proof.FAILED, (self._over_text(fastener),)
        under = [number for number, pull in enumerate(fastener.stages, 1) if pull and pull.verdict == Verdict.UNDER]
        if under:
            return Proof.FAILED, (f"under-torque at stage {under[-1]}, not made good",)
        if fastener.stages[-1] is None:
            return (Proof.LEFT_LOOSE, ("left loose on purpose, not torqued yet",)) if self._untouched_loose() else (
                Proof.MISSED, ("no tightening of the final stage",),
            )  # fmt: skip
        doubts = self._doubts(fastener)
        return (Proof.DOUBTFUL, doubts) if doubts else (Proof.PROVEN, ())

    def worst(self) -> Proof:
        """The worst proof of the joint's fasteners."""
        return self.summary.worst

    def _untouched_loose(self) -> bool:
        return self.loose and not any(pull for fastener in self.fasteners for pull in fastener.stages)

    def _over_text(self, fastener: FastenerState) -> str:
        lacks = [
            text
            for text, done in (
                ("not opened", fastener.opened_since_over),
                ("no decision of the lead", fastener.decided_since_over),
                ("not done again", fastener.opened_since_over and fastener.all_in_band),
            )
            if not done
        ]
        return f"over-torque at reading {fastener.over.n if fastener.over else 0}: {', '.join(lacks)}"

    def _doubts(self, fastener: FastenerState) -> tuple[str, ...]:
        doubts: list[str] = []
        for number, pull in enumerate(fastener.stages, 1):
            doubts += [f"stage {number} has no tightening"] if pull is None else self._doubts_of(pull)
        counts = [pull.n for pull in fastener.stages if pull is not None]
        if counts != sorted(counts):
            doubts.append("stages out of order")
        sure = all(pull and pull.match and pull.match.p and Decimal(pull.match.p) >= P_LIMIT for pull in fastener.stages)
        if self.denied is not None:
            doubts.append(self.denied)
        elif not sure and self.confirmed_seq is None:
            doubts.append("matched by order only and not confirmed")
        if self.gap_seq is not None and (self.confirmed_seq is None or self.confirmed_seq < self.gap_seq):
            doubts.append("the link was lost while this joint was in hand")
        return tuple(dict.fromkeys(doubts))

    def _doubts_of(self, pull: Pull) -> list[str]:
        doubts = [pull.reading.unfit] if pull.reading.unfit else []
        if pull.match is not None and pull.verdict != Verdict.IN_BAND:
            doubts.append(f"a pull of stage {pull.match.stage} is {pull.verdict or 'without a verdict'}")
        if self.joint.wrenches and pull.reading.wrench not in self.joint.wrenches:
            doubts.append(f"wrench {pull.reading.wrench or '(none named)'} is not one that the plan names")
        for hold_point in self.after:
            signature = self.signed.get(hold_point)
            if signature is None or signature.at.seq > pull.seq:
                doubts.append(f"torqued before `{hold_point}` was signed")
        if self.joint.snug and pull.match and pull.match.position and not self.is_snug(pull.match.position, pull.seq):
            doubts.append("the snug round was not signed first")
        return doubts


def _seq(event: Event) -> int:
    return event.seq if isinstance(event, Pull) else event[0]
