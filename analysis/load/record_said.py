"""What persons said, signed and changed during a job, ready to be shown: names put in, nothing judged anew."""

from dataclasses import dataclass

from schemas.follow_up import Followed, FollowUp, followed


@dataclass(frozen=True, slots=True)
class DecisionRow:
    """What a named person said; `reading` is the number of the reading that it speaks of.

    `value` in `unit` was measured or is declared, with which `tool`; `lot` names the compound; `step` is the plan's step that
    it answers. `notes` are what there is to be said of it, such as that it is one of several within a minute.
    """

    seq: int
    at: str
    by: str
    said: str
    joint: str | None
    joint_name: str | None
    position: int | None
    count: int | None
    of: int | None
    reading: int | None
    reason: str | None = None
    value: str | None = None
    unit: str | None = None
    tool: str | None = None
    lot: str | None = None
    step: int | None = None
    notes: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class SignatureRow:
    """A signature under a hold point, under the snug round of joint `snug`, or as second person under joint `second`.

    `value` in `unit` was measured at the hold point. `notes` as of a decision.
    """

    seq: int
    at: str
    by: str
    role: str
    hold_point: str | None
    snug: str | None
    snug_name: str | None
    second: str | None = None
    second_name: str | None = None
    value: str | None = None
    unit: str | None = None
    notes: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class HoldPointRow:
    """A hold point of the plan and the signature that it was passed with, None where there is none.

    `limits` says what may be measured there, "" where nothing is. `outside` are signatures whose value lay outside them.
    `late` says how long after the first pull it was signed that it holds, "" where it was signed before.
    """

    hold_point: str
    ask: str
    sign: str
    signature: SignatureRow | None
    limits: str = ""
    outside: tuple[SignatureRow, ...] = ()
    late: str = ""


@dataclass(frozen=True, slots=True)
class PreparationRow:
    """A declared preparation of a joint, or of one `position`: what with, which `lot`, and `when` that was against the pulls."""

    at: str
    by: str
    joint: str
    joint_name: str
    position: int | None
    prep: str
    lot: str | None
    when: str


@dataclass(frozen=True, slots=True)
class LoadingRow:
    """From when on a joint whose thread compound cures may be loaded.

    `not_before` is RFC 3339 in UTC, to the whole minute after; None where it cannot be told, and `text` then says why.
    `pulled_on` is the day of its last pull, so that a time of the same day needs none.
    """

    joint: str
    joint_name: str
    not_before: str | None
    pulled_on: str
    text: str


@dataclass(frozen=True, slots=True)
class HandOverRow:
    """The work passed on: what was `open` and signed by who left; `taken_at` is None where nobody signed to take it."""

    at: str
    leaver: str
    taker: str
    open: tuple[str, ...]
    taken_at: str | None


@dataclass(frozen=True, slots=True)
class JointAddedRow:
    """A joint that a person added to the job and that the plan does not have, with the source of its figures."""

    at: str
    by: str
    joint: str
    name: str
    fasteners: int
    source: str


@dataclass(frozen=True, slots=True)
class PlanChangeRow:
    """The job went on after another revision of the plan; `gone` are ids of joints that this one no longer has."""

    at: str
    by: str
    revision: str
    reason: str
    gone: tuple[str, ...]
    gone_names: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class LinkRow:
    """The link to a wrench changed; `joint_name` was in hand."""

    seq: int
    at: str
    source: str
    link: str
    joint: str | None
    joint_name: str | None
    detail: str | None


@dataclass(frozen=True, slots=True)
class RetorqueJob:
    """The short job that a retorque became; `distance` is what the item had gone by then."""

    job: str
    distance: str | None
    follow_up: FollowUp

    @property
    def text(self) -> str:
        """What became of it, in words."""
        words = {Followed.OPEN: "open", Followed.DONE: "done", Followed.UNFINISHED: "closed unfinished"}
        state = self.follow_up.state
        reason = f" ({self.follow_up.reason})" if self.follow_up.reason else ""
        gone = f" after {self.distance}" if self.distance else ""
        return f"job {self.job}{gone}: {words.get(state, str(state))}{self.follow_up.remarks}{reason}"


@dataclass(frozen=True, slots=True)
class Retorque:
    """A retorque that the plan asks for later, by the joints' names, and the jobs that were opened for it."""

    joints: tuple[str, ...]
    span: str
    method: str = ""
    jobs: tuple[RetorqueJob, ...] = ()

    @property
    def is_due(self) -> bool:
        """Whether it is still waited for: neither done nor offered and not done."""
        return followed(tuple(job.follow_up for job in self.jobs)) not in (Followed.DONE, Followed.NOT_DONE)
