"""One joint as its pulls, decisions and gaps make it."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from decimal import Decimal

from schemas.bodies import MatchKept
from schemas.fastener_state import At, Event, FastenerState, Pull, Saying, entry_of
from schemas.joint_counts import counts_of
from schemas.joint_proof import Summary, summarise
from schemas.joint_said import go_round_again, take_saying
from schemas.joint_waits import is_later_check, waits_for_second, waits_for_stripes
from schemas.likelihood import P_LIMIT
from schemas.route import Joint, Stage
from schemas.words import Kind, Proof, StageWord


@dataclass(slots=True)
class JointState:
    """One joint; `events` in the order of the ledger make the rest, so a revised match is taken by replaying them.

    An event is a pull, what a person said, or the number of the entry that says that the link was lost. `loose`: the plan
    leaves it loose for a while; `to_open` are the steps that open it on purpose. `unmet`: by the number of a pull or declaration
    what it should have waited for, with the entry since which that is known. `drags`: by position the measured drag with its
    entry, under the negative what was said of the whole joint. `changed`: the entry by which a revision changed the joint, and
    what is said of it; where it began anew, nothing counts from before `since` but the over-pulls in `still_over`.
    `round_since`: when a closing round was begun again; `check_seq`: the last pull of a later step's check. `counted`: by
    stage the last count's entry and its probability, sure from `limit` on; `opened_since`: the last entry that opened something.
    """

    joint: Joint
    loose: bool = False
    to_open: tuple[int, ...] = ()
    events: list[Event] = field(default_factory=list)
    unmet: dict[int, dict[str, int]] = field(default_factory=dict)
    snugs: list[int] = field(default_factory=list)
    seconds: list[At] = field(default_factory=list)
    fasteners: list[FastenerState] = field(init=False)
    confirmed_seq: int | None = None
    denied: str | None = None
    gap_seq: int | None = None
    prepared: list[Saying] = field(default_factory=list)
    let_stand: list[Saying] = field(default_factory=list)
    covered: Saying | None = None
    drags: dict[int, tuple[int, Decimal]] = field(default_factory=dict)
    opened_steps: set[int] = field(default_factory=set)
    moved: set[int] = field(default_factory=set)
    changed: tuple[int, str] | None = None
    since: int = 0
    still_over: dict[int, Pull] = field(default_factory=dict)
    round_since: int = 0
    check_seq: int = 0
    limit: Decimal = P_LIMIT
    counted: dict[int, tuple[int, Decimal]] = field(default_factory=dict)
    opened_since: int = 0
    _summary: Summary | None = None

    def __post_init__(self) -> None:
        self._reset()

    def _reset(self) -> None:
        stages = len(self.joint.stages)
        rounds = sum(stage.word is StageWord.ROUND for stage in self.joint.stages) or stages
        self._summary = None
        self.fasteners = [
            FastenerState([None] * stages, [[] for _ in range(stages)], rounds=rounds) for _ in range(self.joint.fasteners)
        ]
        for position, pull in self.still_over.items():
            self.fasteners[position - 1].over = pull
        self.round_since = self.check_seq = self.opened_since = 0
        self.confirmed_seq = self.denied = self.gap_seq = self.covered = None
        for noted in (self.prepared, self.let_stand, self.drags, self.opened_steps, self.moved):
            noted.clear()

    def pulls(self) -> Iterable[Pull]:
        """The pulls that belong here, in the order of the ledger."""
        return (event for event in self.events if isinstance(event, Pull))

    def own_pulls(self, fastener: FastenerState) -> list[Pull | None]:
        """The counting pulls of one of its fasteners at the stages that make it done."""
        return [fastener.stages[stage.number - 1] for stage in self.joint.own_stages]

    def wait(self, unmet: Mapping[int, tuple[str, ...]], since: int) -> None:
        """Say anew what each pull, by its number, should have waited for; what is new of it is known since that entry."""
        known = self.unmet
        self.unmet = {seq: {text: known.get(seq, {}).get(text, since) for text in texts} for seq, texts in unmet.items()}
        self._summary = None

    def take(self, pull: Pull, unmet: tuple[str, ...] = ()) -> None:
        """Take a newly matched pull; one that belonged elsewhere before is put in its place by its number."""
        if pull.seq < self.since:
            return
        if unmet:
            self.unmet[pull.seq] = dict.fromkeys(unmet, pull.seq)
        self.events.append(pull)
        if len(self.events) > 1 and entry_of(self.events[-2]) > pull.seq:
            self.events.sort(key=entry_of)
            self.replay()
        else:
            self._step(pull)

    def take_said(self, saying: Saying, unmet: tuple[str, ...] = ()) -> None:
        """Take what a person said of this joint."""
        if unmet:
            self.unmet[saying.at.seq] = dict.fromkeys(unmet, saying.at.seq)
        self.events.append(saying)
        self._step(saying)

    def take_gap(self, seq: int) -> None:
        """The link was lost while this joint was in hand."""
        self.events.append(seq)
        self._step(seq)

    def take_snug(self, seq: int) -> None:
        """The snug round was signed."""
        self.snugs.append(seq)
        self._summary = None

    def take_second(self, at: At) -> None:
        """A second person looked at the joint and signed."""
        self.seconds.append(at)
        self._summary = None

    def take_count(self, seq: int, stage: int, p: Decimal) -> None:
        """It was worked out how probable it is that every fastener got its tightening at a stage."""
        self.counted[stage] = seq, p
        self._summary = None

    def p_counted(self, stage: int) -> Decimal | None:
        """That probability, lifted where a person has counted since; None where it is not known, or not any more."""
        # Asked after every reading, when the proofs are not: they are not worked out for it.
        count = (counts_of(self) if self._summary is None else self._summary.counted).get(stage)
        return None if count is None else count.p_now

    def is_snug(self, position: int, before: int | None = None) -> bool:
        """Whether the snug round was signed since a fastener was last opened, and before the entry of that number."""
        opened = self.fasteners[position - 1].opened_seq
        return any(opened < seq and (before is None or seq < before) for seq in self.snugs)

    def is_prepared(self, position: int) -> bool:
        """Whether the preparation was declared since a fastener was last opened."""
        opened = self.fasteners[position - 1].opened_seq
        return any(opened < saying.at.seq for saying in self.prepared)

    def is_renewed(self, position: int) -> bool:
        """Whether hardware that is new each time was declared new since a fastener was last opened."""
        fastener = self.fasteners[position - 1]
        return not fastener.opened_seq or fastener.renewed_seq > fastener.opened_seq or self.is_prepared(position)

    def drag(self, position: int) -> Decimal | None:
        """The drag that was measured on a fastener, else on the whole joint, since it was last opened; in the joint's unit."""
        opened = self.fasteners[position - 1].opened_seq
        measured = (self.drags[place] for place in (position, -position) if place in self.drags)
        return next((drag for seq, drag in measured if seq > opened), None)

    def is_past(self, stage: Stage) -> bool:
        """Whether a recheck stands before an opening that was done since: what it would show is gone."""
        # Under a number that the plan no longer opens the joint in, an earlier revision had another step.
        return stage.step is not None and any(step > stage.step for step in self.opened_steps.intersection(self.to_open))

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
            self._step_pull(event)
        elif isinstance(event, Saying):
            take_saying(self, event)
        else:
            self.gap_seq = event

    def _step_pull(self, pull: Pull) -> None:
        match = pull.match
        if match is None or match.position is None:
            return
        if match.kind == Kind.LOOSENING:
            self.opened_since = max(self.opened_since, pull.match_seq or pull.seq)
            for fastener in self.fasteners if self.joint.reopen_joint else ():
                fastener.open(pull.seq)
        self.fasteners[match.position - 1].take(pull, match)
        # Something was done after "not all stripes seen", so the question is asked anew.
        self.denied = None
        # Who saw all stripes said nothing of what was done since; a click on a fastener already done changes nothing, and what
        # a later check goes over is counted on its own.
        if is_later_check(self.joint, match):
            self.check_seq = pull.seq
        elif match.kind not in (Kind.REPEAT, Kind.RECHECK):
            self.confirmed_seq, self.check_seq = None, 0
        go_round_again(self, pull.seq)

    @property
    def is_checked_since(self) -> bool:
        """Whether it was checked again since somebody counted its fasteners."""
        return self.check_seq > (self.confirmed_seq or 0)

    @property
    def to_see(self) -> int:
        """How many fasteners can be seen: all but those that are not fitted."""
        return sum(fastener.not_fitted is None for fastener in self.fasteners)

    @property
    def summary(self) -> Summary:
        """What it all comes to, worked out once for as long as nothing changes."""
        if self._summary is None:
            self._summary = summarise(self)
        return self._summary

    @property
    def all_done(self) -> bool:
        """Each fastener has its final, in band or over; one below the band is continued first."""
        return self.summary.all_done

    @property
    def waits_for_second(self) -> bool:
        """A second person has to look at a critical joint, once its fitter has said that it is whole."""
        return waits_for_second(self)

    @property
    def waits_for_stripes(self) -> bool:
        """Every final is done, or checked again, and nobody has said since how many there are."""
        return waits_for_stripes(self)

    def proof(self, position: int) -> tuple[Proof, tuple[str, ...]]:
        """What the record shows of one fastener (1 to n), and why it is no better."""
        return self.summary.proofs[position - 1]

    def worst(self) -> Proof:
        """The worst proof of the joint's fasteners."""
        return self.summary.worst
