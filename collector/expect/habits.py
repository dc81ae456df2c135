"""How people pull, in numbers: the one place with the parameters of matching, each with its reason.

The figures are our own guesses of what is usual beside a vehicle (common practice, no source) unless said otherwise; they are
deliberately broad, since no two fitters are alike. What one log shows of its own fitter narrows them (`adapt`), and what a
shop's confirmed jobs show can take their place (`learn`).
"""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Habits:
    """The parameters; probabilities are of the next reading of a wrench, gaps in seconds, angles in degrees.

    Each `_sd` beside a gap or a turn is the standard deviation of its natural logarithm.
    """

    spread: float = 0.022
    """Torque of a finished pull to its target, one standard deviation, as a share: wrench and hand together."""
    level: float = 0.015
    """A wrench that is not known yet shows so much too much or too little, one standard deviation, as a share."""
    spread_floor: float = 0.010
    """A log's own spread is never taken for less: a few equal readings are no proof of a steady hand."""
    anywhere: float = 0.04
    """A finished pull lies anywhere in its band: that is all that the fitter is told to reach."""
    over: float = 0.006
    """A finished pull lands anywhere above, up to half as much again."""
    next_s: float = 8.0
    next_sd: float = 0.65
    """From one fastener to the next of a joint: move the socket, swing, click."""
    again_s: float = 1.8
    again_sd: float = 0.55
    """A second click on the same fastener comes at once, before the socket is moved."""
    stroke_s: float = 2.2
    stroke_sd: float = 0.7
    """Ratchet back and pull on."""
    round_s: float = 14.0
    round_sd: float = 0.9
    """From one round over a joint to the next."""
    joint_s: float = 60.0
    joint_sd: float = 1.1
    """From joint to joint: other tools, other side, parts to fit."""
    turn_deg: float = 40.0
    turn_later_deg: float = 18.0
    """The same at a later stage of a joint, which begins from where the one before ended."""
    turn_sd: float = 0.8
    """What a fastener turns in its tightening; joints differ widely."""
    turn_next_sd: float = 0.45
    """The same from one fastener to the next of one joint."""
    still_deg: float = 2.2
    """What a tight fastener seems to turn when it is clicked again: twist of the tool. Mean of an exponential."""
    again: float = 0.025
    """A finished fastener is clicked once more."""
    low: float = 0.035
    """A pull on a new fastener ends below its band."""
    low_more: float = 0.5
    """The same where the fastener before took strokes: there is no room to swing at this joint."""
    stroke_more: float = 0.5
    """A stroke on the same fastener is not the last one: two to six of them are usual."""
    continued: float = 0.95
    """A pull below the band is continued on the same fastener."""
    continued_alone: float = 0.87
    """The same where the fastener before took one pull, so that there is room to swing."""
    skip: float = 0.004
    """A fastener is passed over and taken for done."""
    check: float = 0.05
    """A finished joint is gone round once more."""
    check_on: float = 0.96
    """Such a round goes on to the next fastener, until it has been round."""
    redo: float = 0.001
    """A fastener was opened with another tool, unseen, and is tightened anew."""
    redo_on: float = 0.2
    """The same with the next fastener too: several were opened."""
    redo_over: float = 0.1
    """The same where the pull before ended above the band."""
    reopened: float = 0.0008
    """A finished joint was opened as a whole, unseen, and is done anew."""
    found: float = 0.25
    """In a second round over a joint that lacks one, the next pull finds it."""
    early: float = 0.015
    """A joint is left unfinished, to come back to it."""
    back: float = 0.25
    """An unfinished joint is taken up again at the next change of joint."""
    check_late: float = 0.02
    """At a change of joint one of the finished ones is gone round again."""
    by_fastener: float = 0.004
    """One fastener is taken through all its stages before the next one, instead of round by round."""
    turns: float = 0.01
    """After its first fastener, those of a joint are pulled in turn with those of another one, such as left and right, or
    each at this stage and at the next."""
    turns_on: float = 0.95
    """The next fastener is then the other joint's."""
    stray: float = 0.006
    """A click that belongs to nothing of this job, such as one on another vehicle."""
    tried_on: float = 0.55
    """After such a click comes another one of them: a few trials."""
    other_on: float = 0.85
    """The same on another vehicle: a whole joint of it."""
    stray_alike: float = 0.85
    """That one has about the same torque."""
    other: float = 0.006
    """At a change of joint: a joint of another vehicle comes in between."""
    tried: float = 0.03
    """At a change of joint: the wrench is tried on the bench, as it is set for the next joint."""
    stop: float = 0.01
    """The log ends in the middle of a joint."""
    stop_early: float = 0.2
    """The same where other joints are still to come: the job goes on in another log, or is under way."""
    left_out: float = 0.04
    """The log ends though a stage of a joint was never begun: forgotten, or to be done in another log."""
    way_ahead: float = 0.44
    """The next joint of the plan that is not done comes next; at its end the first one that was left."""
    way_back: float = 0.05
    """The one before it in the plan comes next: some work from the rear to the front."""
    way_first: float = 0.04
    """The first one of the plan that is not done."""
    way_torque: float = 0.05
    """The next one of the same torque: the wrench stays as it is set."""
    way_rising: float = 0.04
    """The next one up in torque: the wrench is set once for each."""
    way_falling: float = 0.03
    """The next one down."""
    way_side: float = 0.07
    """The next one on the same side of the vehicle."""
    way_corner: float = 0.06
    """The next one at the same corner of the vehicle: all of a wheel's joints, then those of the next wheel."""
    way_begun: float = 0.07
    """The next stage of a joint whose stage before is done, round by round where there are several."""
    way_near: float = 0.11
    """One near by in the plan, each further one half as often."""
    way_any: float = 0.04
    """Any of them."""
    keeps_order: float = 0.65
    """Whoever follows one of these habits follows it at the next joint too, and does not choose anew."""
    own_way: float = 0.5
    """A wrench goes on from where it was itself, as with two people, and not from where the last wrench was."""
    other_wrench: float = 0.02
    """A wrench is used that the plan does not name for the joint."""


USUAL = Habits()
