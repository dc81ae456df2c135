"""Records on which fastener of its joint a pull was, as a named person says, and what that moves."""

from collector.bench import Bench, keep_match
from collector.expect.bounds import is_confirmed, is_named_again, stays_over
from collector.expect.confirmed import confirm_position, why_not
from collector.flag import flag_match
from schemas.bodies import Decided
from schemas.fastener_state import Pull
from schemas.words import Said


def keep_position(bench: Bench, pull: Pull | None, position: int) -> str:
    """Record the word and the matches that come of it; gives one line to show. Nothing is recorded of what cannot be."""
    why = why_not(bench.job, pull, position)
    if why is not None or pull is None or pull.match is None:
        return why or ""
    match, joint = pull.match, bench.job.joints[pull.match.joint or ""].joint
    if is_confirmed(match) and match.position == position:
        return f"fastener {position} is on record for reading {pull.n} already"
    own, *others = confirm_position(bench.job, pull, position)
    if not stays_over(pull, flag_match(own, bench.job)[-1]):
        return "an over-pull stays on record until the lead decides: witnessmark job decide"
    said = Decided(bench.job.opened.job, str(Said.POSITION), joint.id, position, reading=pull.seq, simulated=bench.simulated_mark)
    bench.recorder.append(said, bench.by)
    keep_match(bench, own, bench.by)
    for other in others:
        # On the way two pulls may lie on one fastener for a moment, where neither continues the other nor puts it right.
        bench.recorder.append(flag_match(other, bench.job)[-1])
    moved = f"; counted anew: reading {', '.join(str(bench.job.pulls[one.reading].n) for one in others)}" if others else ""
    again = f": a second pull on fastener {position}; was it opened between: job opened" if is_named_again(own) else ""
    return f"reading {pull.n} was on {joint.name}, fastener {position} of {joint.fasteners}{again}{moved}"
