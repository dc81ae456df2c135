"""The trade's words as closed sets: kinds of reading, verdicts, proof, what a wrench measures, roles, decisions."""

from enum import StrEnum


class Kind(StrEnum):
    """What a reading was."""

    TIGHTENING = "tightening"
    SHORT_PULL = "short pull"
    REPEAT = "repeat"
    RECHECK = "recheck"
    LOOSENING = "loosening"
    STRAY = "stray"


class Verdict(StrEnum):
    """How a torque lies to its band; both edges are in band.

    A round over tight fasteners that are not slackened first shows only that each `held` or `moved`, never `in band`.
    """

    UNDER = "under"
    IN_BAND = "in band"
    OVER = "over"
    MARGINAL = "marginal"
    HELD = "held"
    MOVED = "moved"


class Proof(StrEnum):
    """What the record shows of one fastener, from the best to the worst that can be said of it (see `PROOF_ORDER`)."""

    PROVEN = "proven"
    DECLARED = "declared"
    NOT_FITTED = "not fitted"
    DOUBTFUL = "doubtful"
    LEFT_LOOSE = "left loose"
    MISSED = "missed"
    FAILED = "failed"


PROOF_ORDER: tuple[Proof, ...] = tuple(Proof)
"""Best first; the proof of a joint is the worst of its fasteners."""


class Measures(StrEnum):
    """What the value of a wrench is."""

    HIGHEST = "highest"
    FIRST = "first"
    CLICK = "click"
    SET = "set"


class Role(StrEnum):
    """Who may sign a hold point."""

    FITTER = "fitter"
    LEAD = "lead"
    SECOND_PERSON = "second person"


class StepWord(StrEnum):
    """What a step of the plan asks for."""

    DO = "do"
    CAUTION = "caution"
    FIT = "fit"
    LOOSE = "loose"
    TORQUE = "torque"
    OPEN = "open"
    HOLD_POINT = "hold point"
    RECHECK = "recheck"
    RETORQUE = "retorque"


class StageWord(StrEnum):
    """What a measured stage is: a round of torque, an angle turned after it, a check that slackens nothing."""

    ROUND = "round"
    ANGLE = "angle"
    RECHECK = "recheck"


class Method(StrEnum):
    """How a fastener that is tight already is torqued again."""

    HOLD = "do not slacken"
    BACK_OFF = "back off a turn"


class PositionBy(StrEnum):
    """How it is known which of alike fasteners a reading was on: counted in the order of the stage, or a person's word."""

    ORDER = "order"
    CONFIRMED = "confirmed"


class Said(StrEnum):
    """What a person decides during a job."""

    STRIPES = "stripes"
    SAME_AGAIN = "same again"
    NOT_THIS_JOB = "not this job"
    OPENED = "opened"
    OTHER_JOINT = "other joint"
    POSITION = "position confirmed"
    INSPECTED = "inspected"
    REPLACED = "replaced"
    LET_STAND = "let stand"
    DECLARED = "declared"
    PREPARED = "prepared"
    NOT_FITTED = "not fitted"
    MOVED = "moved"
    DRAG = "drag"
    AS_FOUND = "as found"
    COVERED = "covered"
    NOT_DONE = "not done"
    NOT_LOOKED = "not looked"
    TAKEN_NOTE = "taken note"


class Link(StrEnum):
    """The state of the link to a wrench."""

    OPEN = "open"
    LOST = "lost"
    BACK = "back"
    ENDED = "ended"
