"""The fitter's answer to one screen at a time."""

from dataclasses import replace
from decimal import Decimal

import pytest

from schemas.errors import SourceError
from schemas.plan.bands import band_with_drag
from schemas.plan.load import load_plan
from schemas.screen import Ask, AskWord, JointRow, Last, Screen, Target
from schemas.units import find_unit
from schemas.words import Kind, Proof, Role, Verdict
from sim.fitter import Act, Fitter, Keys, Pull
from sim.mishap import Mishap, Spot
from sim.workshop import facts

ROUTE = load_plan(facts.plan_bytes(), facts.PLAN_FILE)
SEED = 1


@pytest.fixture
def fitter() -> Fitter:
    return Fitter(ROUTE, SEED, facts.WRENCHES, facts.LEAD)


def spot_of(fitter: Fitter, mishap: Mishap) -> Spot:
    return next(spot for spot, what in fitter.mishaps.items() if what is mishap)


def quiet_spot(fitter: Fitter) -> Spot:
    """A fastener on which nothing goes wrong."""
    joint = next(joint for joint in ROUTE.joints if joint.id not in {spot.joint for spot in fitter.mishaps})
    return Spot(joint.id, 1, joint.order[0])


def screen(spot: Spot | None, last: Last | None = None, ask: Ask | None = None, done: tuple[str, ...] = ()) -> Screen:
    joint = ROUTE.joint(spot.joint) if spot else None
    stage = joint.stages[spot.stage - 1] if joint and spot else None
    target = Target(joint, stage, spot.position, 1, stage.band) if joint and stage and spot else None
    rows = tuple(
        JointRow(
            number,
            joint.id,
            joint.name,
            joint.fasteners,
            joint.fasteners if joint.id in done else 0,
            0,
            Proof.MISSED,
            confirmed=False,
            left_loose=False,
        )
        for number, joint in enumerate(ROUTE.joints, 1)
    )
    return Screen("1", ROUTE.title, True, target, ask, last, rows, (), "link open", True)


def told(spot: Spot, verdict: Verdict, kind: Kind = Kind.TIGHTENING) -> Last:
    return Last(
        str(verdict),
        "",
        1,
        kind,
        verdict,
        spot.joint,
        "",
        spot.stage,
        spot.position,
        stop=verdict is Verdict.OVER,
    )


def pull(act: Act | None) -> Pull:
    assert isinstance(act, Pull)
    return act


def keys(act: Act | None) -> str:
    assert isinstance(act, Keys)
    return act.text


def test_the_target_is_pulled_with_a_wrench_of_the_joint_in_its_unit(fitter: Fitter) -> None:
    spot = Spot("hangers-front", 1, ROUTE.joint("hangers-front").order[0])

    act = pull(fitter.act(screen(spot)))

    assert (act.spot, act.unit, act.wrench) == (spot, "lbf·ft", "W-140")
    assert act.pause_s > 0


def test_a_joint_that_names_no_wrench_is_pulled_with_one_that_covers_all_its_stages(fitter: Fitter) -> None:
    spot = Spot("hub-left", 2, ROUTE.joint("hub-left").order[0])  # 40 N·m lies in both ranges, its half in one

    assert pull(fitter.act(screen(spot))).wrench == "W-025"


@pytest.mark.parametrize(
    ("ask", "text"),
    [
        pytest.param(Ask(AskWord.STRIPES, "?", of=4), "\r", id="stripes"),
        pytest.param(Ask(AskWord.SNUG, "?"), "\r", id="snug"),
        pytest.param(Ask(AskWord.HOLD_POINT, "?"), "\r", id="hold-point-of-the-fitter"),
        pytest.param(Ask(AskWord.HOLD_POINT, "?", Role.LEAD), "\rTomasz Reed\r", id="hold-point-of-the-lead"),
        pytest.param(Ask(AskWord.HOLD_POINT, "?", Role.SECOND_PERSON), "\rTomasz Reed\r", id="hold-point-of-a-second"),
        pytest.param(Ask(AskWord.SECOND, "?", Role.SECOND_PERSON, "hub-left"), "\rTomasz Reed\r", id="second-person"),
        pytest.param(Ask(AskWord.PREPARED, "?", joint="hub-left"), "\r", id="prepared"),
        pytest.param(Ask(AskWord.TURNED, "?", joint="hub-left", step=3), "\r", id="turned"),
        pytest.param(Ask(AskWord.DECLARED, "?", joint="hub-left", step=3), "\r", id="declared"),
        pytest.param(Ask(AskWord.TAKEN_BACK, "?", joint="hub-left", reading=7), "\r", id="taken-back"),
        pytest.param(Ask(AskWord.OPENED, "?", joint="hub-left", step=3), "\r", id="opened"),
        pytest.param(Ask(AskWord.COVERED, "?", joint="hub-left", step=3), "\r", id="covered"),
        # The hub nuts' torque is 40 N·m.
        pytest.param(Ask(AskWord.DRAG, "?", joint="hub-left", value_in="N·m"), "\r4.0\r", id="drag-of-a-nut"),
    ],
)
def test_what_is_asked_is_answered_before_the_next_pull(fitter: Fitter, ask: Ask, text: str) -> None:
    assert keys(fitter.act(screen(quiet_spot(fitter), ask=ask))) == text


@pytest.mark.parametrize(
    ("sign", "text"), [pytest.param("fitter", "\r-1\r", id="fitter"), pytest.param("lead", "\r-1\rTomasz Reed\r", id="lead")]
)
def test_what_is_measured_at_a_hold_point_is_the_middle_of_its_limits(sign: str, text: str) -> None:
    measured = f"- hold point: toe\n    ask: Toe?\n    sign: {sign}\n    measure: {{unit: mm, low: -3, high: 1}}"
    joint = "{id: nuts, name: Nuts, fasteners: 4, torque: 100, tolerance: 10 %}"
    plan = f'plan: p\ntitle: T\nrevision: "1"\nsource: s\nunit: N·m\njoints: [{joint}]\nsteps:\n  {measured}\n  - torque: nuts\n'
    fitter = Fitter(load_plan(plan.encode(), "p.yaml"), SEED, facts.WRENCHES, facts.LEAD)
    role = Role(sign)

    act = fitter.act(screen(None, ask=Ask(AskWord.HOLD_POINT, "Toe?", role, None, "toe", value_in="mm", step=1)))

    assert keys(act) == text


def test_a_band_that_a_measured_drag_has_moved_is_the_one_that_is_pulled_to(fitter: Fitter) -> None:
    spot = quiet_spot(fitter)
    shown = screen(spot)
    assert shown.target is not None
    moved = band_with_drag(shown.target.band, Decimal(30), find_unit(shown.target.joint.unit)[0])

    act = pull(fitter.act(replace(shown, target=replace(shown.target, band=moved))))

    assert moved.low <= act.torque <= moved.high
    assert act.torque > shown.target.band.high


def test_nothing_is_pulled_while_the_link_is_down(fitter: Fitter) -> None:
    assert fitter.act(replace(screen(quiet_spot(fitter)), link_ok=False)) is None


def test_the_fitter_goes_home_when_nothing_is_left_and_does_nothing_after_the_end(fitter: Fitter) -> None:
    assert keys(fitter.act(screen(None))) == "q"
    assert fitter.act(replace(screen(None), ended=True)) is None


def test_a_pull_that_stopped_short_is_put_right_on_the_same_fastener(fitter: Fitter) -> None:
    spot = spot_of(fitter, Mishap.UNDER)
    band = ROUTE.joint(spot.joint).final.band

    short = pull(fitter.act(screen(spot)))
    again = pull(fitter.act(screen(quiet_spot(fitter), told(spot, Verdict.UNDER))))

    assert short.torque < band.low
    assert (again.spot, band.low <= again.torque <= band.high) == (spot, True)
    assert 2 <= again.pause_s <= 4, "who hears no click pulls on at once"


def test_after_a_stop_the_fitter_takes_time_and_goes_on(fitter: Fitter) -> None:
    spot = spot_of(fitter, Mishap.OVER)
    following = spot._replace(position=ROUTE.joint(spot.joint).order[-1])

    over = pull(fitter.act(screen(spot)))
    act = pull(fitter.act(screen(following, told(spot, Verdict.OVER))))

    assert over.torque > ROUTE.joint(spot.joint).final.band.high
    assert act.spot == following
    assert act.pause_s > 30


@pytest.mark.parametrize("word", [pytest.param("unreadable", id="unreadable"), pytest.param("set aside", id="aside")])
def test_a_line_that_was_not_read_is_pulled_again(fitter: Fitter, word: str) -> None:
    spot = spot_of(fitter, Mishap.SPOILED)

    spoiled = pull(fitter.act(screen(spot)))
    again = pull(fitter.act(screen(quiet_spot(fitter), Last(word, word))))

    assert (spoiled.spot, spoiled.spoil) == (spot, True)
    assert (again.spot, again.spoil) == (spot, False)


def click_twice(fitter: Fitter) -> tuple[Spot, Spot]:
    """Both clicks; gives the fastener and the next one."""
    spot = spot_of(fitter, Mishap.TWICE)
    order = ROUTE.joint(spot.joint).order
    following = spot._replace(position=order[order.index(spot.position) + 1])
    first = pull(fitter.act(screen(spot)))
    second = pull(fitter.act(screen(following, told(spot, Verdict.IN_BAND))))
    assert first.spot == second.spot == spot
    assert second.pause_s < 3
    return spot, following


def test_a_second_click_that_counted_on_the_next_fastener_is_taken_back(fitter: Fitter) -> None:
    spot, following = click_twice(fitter)

    assert keys(fitter.act(screen(following, told(following, Verdict.IN_BAND)))) == "s"
    assert pull(fitter.act(screen(following, told(spot, Verdict.IN_BAND, Kind.REPEAT)))).spot == following


def test_a_second_click_that_was_seen_as_one_needs_no_key(fitter: Fitter) -> None:
    spot, following = click_twice(fitter)

    assert pull(fitter.act(screen(following, told(spot, Verdict.IN_BAND, Kind.REPEAT)))).spot == following


def test_the_missed_fastener_is_left_for_the_next_joint_then_for_any_open_one_then_for_home(fitter: Fitter) -> None:
    spot = spot_of(fitter, Mishap.MISSED)
    *others, final = (joint.id for joint in ROUTE.joints if joint.id != spot.joint)
    at_last = [joint.id for joint in ROUTE.joints].index(final) + 1

    assert keys(fitter.act(screen(spot))) == "j\r"
    assert keys(fitter.act(screen(spot, done=tuple(others)))) == f"j{at_last}\r"
    assert keys(fitter.act(screen(spot, done=(*others, final)))) == "q"


def test_the_first_screen_of_a_day_that_goes_on_is_taken_as_it_is(fitter: Fitter) -> None:
    spot = quiet_spot(fitter)

    assert pull(fitter.act(screen(spot, Last("unreadable", "unreadable")))).spot == spot
    assert pull(fitter.act(screen(spot, Last("stray", "stray", kind=Kind.STRAY, verdict=Verdict.UNDER)))).spot == spot


def test_whoever_is_sent_back_to_the_missed_fastener_for_ever_goes_home(fitter: Fitter) -> None:
    spot = spot_of(fitter, Mishap.MISSED)

    pressed = [keys(fitter.act(screen(spot))) for _ in range(len(ROUTE.joints) + 1)]

    assert pressed.index("q") == len(ROUTE.joints)


def test_torques_depend_on_the_spot_and_not_on_what_was_done_before() -> None:
    def torque(*spots: Spot) -> Decimal:
        fitter = Fitter(ROUTE, SEED, facts.WRENCHES, facts.LEAD)
        return [pull(fitter.act(screen(spot))).torque for spot in spots][-1]

    spot, other = Spot("hub-left", 2, 3), Spot("hub-right", 2, 3)

    assert torque(spot) == torque(other, spot)


def test_torques_differ_between_fasteners(fitter: Fitter) -> None:
    torques = {pull(fitter.act(screen(Spot("hub-left", 2, position)))).torque for position in range(1, 9)}

    assert len(torques) > 3


@pytest.mark.parametrize(
    "bench",
    [pytest.param((), id="empty"), pytest.param(facts.WRENCHES[:1], id="one-wrench-too-strong")],
)
def test_a_bench_that_does_not_cover_the_plan_is_refused(bench: tuple[facts.WrenchFacts, ...]) -> None:
    with pytest.raises(SourceError, match="no wrench of the simulated bench covers joint"):
        Fitter(ROUTE, SEED, bench, facts.LEAD)
