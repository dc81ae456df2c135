"""Whatever is recorded, in whatever order: the fold takes it, gives the same rows again, and proves only what was pulled."""

from collections import Counter
from dataclasses import replace
from decimal import Decimal

from hypothesis import given, settings
from hypothesis import strategies as st

from schemas import database as db
from schemas.bodies import CountKept, Decided, HandedOver, JobClosed, JointAdded, MatchKept, PlanChanged, Signed
from schemas.fold import Fold
from schemas.route_body import joint_to_body
from schemas.words import Said, StageWord

PLAN = """\
plan: box-trailer
title: Box trailer
revision: "1"
source: Shop procedure 9, section 15
unit: N·m
tolerance: 10 %
small_drag: add
joints:
  - {id: nuts, name: Nuts, fasteners: 2, torque: 100, stages: [snug, 50, 100, 100], prep: oil, work_within: 10 min, critical: yes}
  - {id: head, name: Head, fasteners: 2, torque: 80, then_angle: 90, angle_tolerance: 10, reopen: joint}
  - {id: arm, name: Arm, fasteners: 1, torque: 60, hand: left, nut: prevailing, drag: measured, hardware: new each time}
  - {id: cap, name: Cap, fasteners: 1, torque: 20, adapter: {length: 100 mm, angle: 0}}
  - {id: guard, name: Guard, fasteners: 2, torque: not stated}
steps:
  - loose: arm
  - torque: nuts
  - hold point: toe
    ask: Toe?
    sign: lead
    measure: {unit: mm, low: -2, high: 2}
    after: [nuts]
  - torque: [head, guard]
    after: [toe]
  - torque: arm
    after: [nuts, guard]
  - open: nuts
  - torque: nuts
    after: [arm]
  - torque: cap
    covers: [head]
  - recheck: [nuts, arm]
    after: [cap]
"""
CHANGED = {
    "2": PLAN.replace("torque: 80", "torque: 90"),
    "3": PLAN.replace("fasteners: 2, torque: 80", "fasteners: 1, torque: 80").replace("[snug, 50, 100, 100]", "[snug, 100]"),
    "4": PLAN.replace("  - {id: cap, name: Cap, fasteners: 1, torque: 20, adapter: {length: 100 mm, angle: 0}}\n", "")
    .replace("  - torque: cap\n    covers: [head]\n", "")
    .replace("    after: [cap]\n", ""),
    "5": PLAN.replace("  - loose: arm\n", "  - caution: Mind the spring\n  - loose: arm\n").replace("    after: [toe]\n", ""),
}
JOINTS = st.sampled_from(["nuts", "head", "arm", "cap", "guard"])
NTH = st.integers(0, 5)
PULLS = st.tuples(
    st.just("pull"), JOINTS, NTH, NTH, st.sampled_from(["in band"] * 4 + ["under", "over", "held", "moved", None]),
    st.sampled_from(["tightening"] * 5 + ["short pull", "repeat", "recheck", "loosening"]),
    st.sampled_from([None, "0.5", "0.999"]), st.booleans(),
)  # fmt: skip
SAYS = st.tuples(
    st.just("say"), st.sampled_from([*Said]), JOINTS, st.none() | NTH, st.none() | st.integers(1, 9), st.integers(0, 9), NTH
)
ACTS = st.one_of(
    PULLS,
    PULLS,
    SAYS,
    st.tuples(st.just("revise"), NTH, st.none() | JOINTS, NTH, NTH, st.sampled_from(["in band", "under", "over", "moved"])),
    st.tuples(st.just("late"), JOINTS, NTH, NTH),
    st.tuples(st.just("sign"), JOINTS, st.sampled_from(["p-1", "p-2"]), st.sampled_from([None, "0", "9"])),
    st.tuples(st.just("plan"), st.sampled_from(sorted(CHANGED))),
    st.tuples(st.just("add")),
    st.tuples(st.just("hand over"), st.sampled_from(["leaver", "taker"]), st.sampled_from(["p-2", "p-3"])),
    st.tuples(st.just("link"), JOINTS),
    st.tuples(st.just("close")),
    st.tuples(st.just("count"), st.none() | JOINTS, NTH, st.sampled_from(["0.1000", "0.9000", "0.9950", "0.9999"])),
)


def place(job, joint, stage, position):
    """A stage and a fastener that the plan has; None where the joint has no stage."""
    state = job.state.joints.get(joint)
    if state is None or not state.joint.stages:
        return None
    return joint, stage % len(state.joint.stages) + 1, position % state.joint.fasteners + 1


def play(job, act):
    match act:
        case ("pull", joint, stage, position, verdict, kind, p, sends):
            spot = place(job, joint, stage, position)
            if spot is not None:
                job.match(job.read("50"), *spot, kind=kind, verdict=verdict, p=p, drag="8" if sends else None)
        case ("late", joint, stage, position):
            spot, reading = place(job, joint, stage, position), job.read("50")
            job.read("60")
            job.match(reading, *(spot or (None,) * 3), **({} if spot else {"kind": "stray", "verdict": None}))
        case ("revise", nth, joint, stage, position, verdict):
            revise(job, nth, joint and place(job, joint, stage, position), verdict)
        case ("say", said, joint, position, step, value, nth):
            say(job, said, joint, position, step, value, nth)
        case ("sign", joint, by, value):
            job.put(Signed("1", "fitter", snug=joint) if joint in job.state.joints else Signed("1", "lead", "toe"), by)
            job.put(Signed("1", "lead", "toe", value=value, unit="mm"), by)
            if joint in job.state.joints:
                job.put(Signed("1", "second person", second=joint), by)
        case ("plan", revision):
            text = CHANGED[revision].replace('revision: "1"', f'revision: "{revision}"')
            job.put(PlanChanged("1", job.keep_plan(text), "revised"))
        case ("add",):
            if "flap" not in job.state.joints and "flap" not in job.state.former:
                added = replace(job.fold.routes[1].joint("cap"), id="flap")
                job.put(JointAdded("1", joint_to_body(added), "sheet 12"))
        case ("hand over", signs, taker):
            job.put(HandedOver("1", signs, "p-1", taker, ()))
        case ("link", joint) if joint in job.state.joints:
            job.link("lost", joint)
        case ("count", joint, stage, p):
            spot = (joint, None, None) if joint is None else place(job, joint, stage, 0)
            if spot is not None:
                job.put(CountKept("1", p, *spot[:2]))
        case ("close",):
            job.put(JobClosed("1", "given up", "no more time"))


def say(job, said, joint, position, step, value, nth):
    state = job.state.joints.get(joint)
    if state is None:
        return
    pulls = list(job.state.pulls)
    many = {"count": state.to_see, "of": state.to_see} if said is Said.STRIPES and value > 2 else {"of": state.to_see}
    job.put(
        Decided(
            "1", str(said), joint, None if position is None else position % state.joint.fasteners + 1,
            **(many if said is Said.STRIPES else {}), reading=pulls[nth % len(pulls)] if pulls else None, value=str(value),
            unit="N·m", step=step,
        )
    )  # fmt: skip


def revise(job, nth, spot, verdict):
    matched = [pull for pull in job.state.pulls.values() if pull.match is not None]
    for pull in matched[nth : nth + 1]:
        if spot is None:
            job.match(pull.seq, None, None, None, kind="stray", verdict=None, revises=pull.match_seq)
        else:
            job.match(pull.seq, *spot, verdict=verdict, revises=pull.match_seq)


def rows_of(entries, *tables):
    fold = Fold()
    for at, body in entries:
        fold.apply(at, body)
    found = {(table.name, row[: table.keys]): row for table, row in fold.take_rows()}
    return {key: row for key, row in found.items() if not tables or key[0] in tables}


@settings(max_examples=400, deadline=None)
@given(st.lists(ACTS, max_size=25))
def test_whatever_comes_is_taken_and_a_rebuild_gives_the_very_same_rows(new_job, acts):
    job = new_job(PLAN)
    for act in acts:
        play(job, act)

    assert job.stored == rows_of(job.entries)


@settings(max_examples=400, deadline=None)
@given(st.lists(ACTS, max_size=25))
def test_matches_that_were_revised_leave_nothing_behind(new_job, acts):
    job = new_job(PLAN)
    for act in acts:
        play(job, act)
    last = {body.reading: at.seq for at, body in job.entries if isinstance(body, MatchKept)}
    final = [(at, body) for at, body in job.entries if not isinstance(body, MatchKept) or last[body.reading] == at.seq]

    tables = ("fastener", "tightening", "joint")

    assert rows_of(final, *tables) == rows_of(job.entries, *tables)


def day(job):
    """All that the plan asks, without trouble."""
    job.say("prepared", "nuts")
    job.put(Signed("1", "fitter", snug="nuts"))
    pull_rounds(job)
    job.put(Signed("1", "lead", "toe", value="0", unit="mm"), "p-2")
    for angle in (None, None, "90", "90"):
        job.take("80", angle_deg=angle)
    job.say("declared", "guard")
    job.say("drag", "arm", value="8", unit="N·m")
    job.take("-68")
    job.say("opened", "nuts", step=6)
    job.say("prepared", "nuts")
    job.put(Signed("1", "fitter", snug="nuts"))
    pull_rounds(job)
    job.take("16", length_mm="400")
    for torque in ("100", "100", "-68"):
        job.take(torque)
    for joint, count in (("nuts", 2), ("head", 2), ("arm", 1), ("cap", 1)):
        job.say("stripes", joint, count=count, of=count)
    job.put(Signed("1", "second person", second="nuts"), "p-2")


def pull_rounds(job):
    for torque in ("50", "50", "100", "100", "100", "100"):
        job.take(torque)


def test_a_day_without_trouble_is_complete(new_job):
    job = new_job(PLAN)
    assert not job.complete
    day(job)

    assert {joint: set(job.proofs(joint)) for joint in job.state.joints} == {
        "nuts": {("proven", "")}, "head": {("proven", "")}, "arm": {("proven", "")}, "cap": {("proven", "")},
        "guard": {("declared", "declared")},
    }  # fmt: skip
    assert job.complete


@settings(max_examples=600, deadline=None)
@given(st.lists(ACTS, max_size=25), st.booleans())
def test_nothing_is_proven_without_its_pulls_and_nothing_is_complete_that_lacks_a_fastener(new_job, acts, whole):
    job = new_job(PLAN)
    if whole:
        day(job)
    for act in acts:
        play(job, act)
    names = {table.name: table.names for table in db.PROJECTIONS}
    stored = {key: dict(zip(names[key[0]], row, strict=True)) for key, row in job.stored.items()}
    proofs = Counter()
    for (name, key), row in stored.items():
        if name != "fastener":
            continue
        proofs[row["proof"]] += 1
        if row["proof"] == "proven":
            check_proven(job, stored, key)
        if row["proof"] == "declared":
            assert said(job, key, Said.DECLARED)
        if row["proof"] == "not fitted":
            assert said(job, key, Said.NOT_FITTED)

    shown = stored["job", ("1",)]
    assert shown["fasteners"] == sum(proofs.values()) == sum(joint.fasteners for joint in job.state.route.joints)
    if shown["complete"]:
        assert set(proofs) <= {"proven", "declared", "not fitted"}
        assert "toe" in job.state.hold_points


GOOD = {StageWord.ROUND: {"in band"}, StageWord.ANGLE: {"in band"}, StageWord.RECHECK: {"held", "in band", "moved"}}


def check_proven(job, stored, key):
    """A pull in band of every round and angle, its own and since it was last opened; a check that held, where one is planned."""
    _, name, position = key
    joint = job.state.route.joint(name)
    assert joint.stages
    seqs = []
    for stage in joint.stages:
        row = stored["tightening", (*key, stage.number)]
        if row["reading"] is None:
            assert stage.word is StageWord.RECHECK
            continue
        reading = stored["reading", (row["reading"],)]
        assert (reading["joint"], reading["stage"], reading["position"]) == (name, stage.number, position)
        assert (reading["kind"], reading["verdict"]) == ("tightening", row["verdict"])
        assert row["verdict"] in GOOD[stage.word]
        assert reading["fit"] == 1
        if row["verdict"] == "moved":
            assert said(job, key, Said.LET_STAND)
        seqs.append(row["reading"])
    opened = [at.seq for at, one in job.state.decisions if one.said == "opened" and speaks_of(joint, one, position)]
    assert min(seqs) > max(opened, default=0)
    over = [pull.seq for pull in job.state.pulls.values() if on(pull, name, position) and pull.verdict == "over"]
    assert max(seqs) > max(over, default=0)
    check_counted(job, name, [stage for stage in joint.stages if stored["tightening", (*key, stage.number)]["reading"]])


def check_counted(job, name, stages):
    """Where the readings were counted, each stage that was done is sure, by a count that is newer than all that it speaks of."""
    state = job.state.joints[name]
    for stage in stages if state.counted else ():
        assert state.p_counted(stage.number) >= Decimal("0.99")
        after = max(state.counted[stage.number][0], state.confirmed_seq or 0)
        assert after > max((seq for seq in matched(job, name, stage.number)), default=0)


def matched(job, joint, stage):
    """The entries that say of pulls that they count, or opened something."""
    for pull in job.state.pulls.values():
        match = pull.match
        counts = match is not None and match.joint == joint and pull.seq >= job.state.joints[joint].since
        if counts and ((match.kind, match.stage) == ("tightening", stage) or match.kind == "loosening"):
            fastener = job.state.joints[joint].fasteners[match.position - 1]
            if match.kind == "loosening" or pull in fastener.earlier[stage - 1]:
                yield pull.match_seq


def on(pull, joint, position):
    return pull.match is not None and (pull.match.joint, pull.match.position) == (joint, position)


def speaks_of(joint, decided, position):
    return decided.joint == joint.id and (joint.reopen_joint or decided.position in (None, position))


def said(job, key, word):
    _, name, position = key
    return any(one.said == word and one.joint == name and one.position in (None, position) for _, one in job.state.decisions)
