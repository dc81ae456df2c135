"""Whatever a plan says, it loads, or each of its faults has a line and a word about what to do."""

import json
import re

from hypothesis import given
from hypothesis import strategies as st

from schemas.entry import canonical
from schemas.errors import PlanError, PlanFault
from schemas.plan.load import load_plan
from schemas.plan.model import STEP_MODELS, JointModel, PlanModel
from schemas.route import Route
from schemas.route_body import route_from_body, route_to_body

REMEDY = re.compile(
    r"[;,] ?(?:write|add|take|move|correct|give|put|keep|make|shorten|type|begin|use|did you mean|known here|nearest are|list"
    r"|each entry|not a list|a step begins|such as)|^did you mean|^a step begins|^write"
)
Texts = st.SearchStrategy[object]


class Written:
    """Strategies of what stands in a plan: `sound` ones have fields that are well written, whatever they say together."""

    def __init__(self, sound: bool) -> None:
        self._sound = sound
        self.digits = self.of("1", "2", "4", "30", "95.20", wrong=("0", "-1", "1e3", "012", "95 N·m", "", ["1"]))
        self.time = self.of("10 min", "24 h", "2 weeks", wrong=("0 s", "1 month", "999999999 weeks", "9", "1 mm"))
        self.names = self.of("a", "b", "c", "a-left", "point", wrong=("", "a b", {"a": "b"}))
        self.many = self.names | st.lists(self.names, min_size=1, max_size=3)

    def of(self, *right: object, wrong: tuple[object, ...] = ()) -> Texts:
        return st.sampled_from(right if self._sound else (*right, *wrong))

    def joint_fields(self) -> dict[str, Texts]:
        yes_no = self.of("yes", "no", wrong=("true",))
        text = self.of("x", "below", wrong=("", ["x"]))
        length, angle = self.of("50 mm", "2 in", wrong=("50", "0 mm")), self.of("0", "90", "22.5", wrong=("181",))
        adapter = {"length": length, "angle": angle}
        return {
            "torque": self.of("95", "100", "40.0", "not stated", wrong=("x", "0", "95 N·m")),
            "low": self.digits,
            "high": self.digits,
            "unit": self.of("Nm", "lbf·in", "J"),
            "tolerance": self.of("8 %", "±5 Nm", "±5 lbf·in", wrong=("100 %", "8")),
            "stages": st.lists(self.of("snug", "50", "95", "100", "100", wrong=("x",)), min_size=1, max_size=4),
            "order": self.of("cross", "in line", "any", ["1"], ["2", "1", "4", "3"], wrong=("star", ["x"], [["1"]])),
            "start": self.of("1", "3", "5", ["1", "2"], wrong=("0", [])),
            "pattern": self.of("circle", "row", wrong=("x",)),
            "mirror": self.of("left/right", wrong=("yes",)),
            "seen_from": text,
            "thread": self.of("M14x2", "7/16-14", wrong=("M",)),
            "grade": text,
            "prep": self.of("dry", "oil"),
            "basis": self.of("dry", "as prepared", wrong=("x",)),
            "work_within": self.time,
            "cure": self.time,
            "nut": self.of("plain", "prevailing", "prevailing", wrong=("x",)),
            "drag": self.of("included", "measured", "4 N·m", "4 lbf·in", wrong=("4", "0 Nm", "x Nm")),
            "hardware": self.of("new", "new each time", wrong=("old",)),
            "counter_hold": text,
            "socket": text,
            "turn": self.of("nut", "head", wrong=("x",)),
            "hand": self.of("left", "right", wrong=("x",)),
            "mark": self.of("paint", "none", wrong=("no",)),
            "critical": yes_no,
            "reopen": self.of("fastener", "joint", wrong=("x",)),
            "then_angle": self.digits,
            "angle_tolerance": self.digits,
            "wrench": self.many,
            "adapter": st.fixed_dictionaries(adapter, optional={"corrected_by": self.of("us", "wrench", wrong=("me",))}),
            "wheel": yes_no,
        }

    def joint(self) -> Texts:
        count = self.of("1", "4", "4", wrong=("0", "1000", "4.0"))
        fields = {"id": self.names, "name": self.of("A", '"/ ב', wrong=("\u202e",)), "fasteners": count}
        later = self.joint_fields() if self._sound else {**self.joint_fields(), "colour": st.just("red")}
        # Most have a plain torque, else hardly any plan would ever load.
        plain = st.fixed_dictionaries({**fields, "torque": st.just("95")})
        return plain | st.fixed_dictionaries(fields, optional=later)

    def steps(self) -> dict[str, Texts]:
        covers = {"covers": self.many}
        later = {"after": self.many, **covers}
        span = self.of("40 km", "50 miles", "2 weeks", "1 h", wrong=("1", "0 h", "5 furlongs"))
        yes_no = self.of("yes", "no", wrong=("true",))
        method = self.of("do not slacken", "back off a turn", wrong=("x",))
        sign = self.of("lead", "fitter", "second person", wrong=("boss",))
        edge = self.of("0", "-3", "2.5", wrong=("x", ""))
        measure = st.fixed_dictionaries({"unit": st.just("mm"), "low": edge, "high": edge})
        if not self._sound:
            measure = measure | st.just({"unit": "mm", "units": "mm"}) | st.just("3 mm")
        text = self.of("x", wrong=("", ["x"]))
        positions = self.of("1", ["1", "2"], ["3", "4"], wrong=([], "0", "x"))
        dictionaries = st.fixed_dictionaries
        return {
            "do": dictionaries({"do": text}, optional=covers),
            "caution": dictionaries({"caution": text}),
            "fit": dictionaries({"fit": self.many, "positions": positions}, optional=covers),
            "loose": dictionaries({"loose": self.many}),
            "torque": dictionaries({"torque": self.many}, optional=later),
            "open": dictionaries({"open": self.many}, optional={**later, "as_found": yes_no}),
            "recheck": dictionaries({"recheck": self.many}, optional=later),
            "hold point": dictionaries(
                {"hold point": self.of("point", "ready", "a"), "ask": text, "sign": sign}, optional={**later, "measure": measure}
            ),
            "retorque": dictionaries({"retorque": self.many, "from": span}, optional={"to": span, "method": method}),
        }

    def plan(self) -> Texts:
        wrong_steps = [] if self._sound else [st.just({"polish": "a"}), st.just("x"), st.just({"torque": "a", "open": "a"})]
        accepted = st.fixed_dictionaries({"finding": self.of("x-y"), "reason": self.of("x")}, optional={"joints": self.many})
        head = {name: st.just("P") for name in ("plan", "title", "revision", "source")}
        least = 1 if self._sound else 0
        return st.fixed_dictionaries(
            {**head, "joints": st.lists(self.joint(), min_size=least, max_size=3), "unit": self.of("Nm", "lbf·in", wrong=("J",))},
            optional={
                "tolerance": self.of("8 %", "10 %", wrong=("x",)),
                "item": self.of("VIN", wrong=("plate",)),
                "small_drag": self.of("add", "leave out below a third", wrong=("x",)),
                "accepted": st.lists(accepted, max_size=2),
                "steps": st.lists(st.one_of(*self.steps().values(), *wrong_steps), min_size=least, max_size=5),
            },
        )


def written(plan: object) -> str:
    """JSON is YAML too, so that any tree can be written as a plan's text."""
    return json.dumps(plan, ensure_ascii=False, indent=1)


def outcome(text: str) -> Route | PlanError:
    try:
        return load_plan(text.encode(), "axle.yaml")
    except PlanError as error:
        return error


def refuses_well(error: PlanError, text: str) -> None:
    assert error.faults
    assert list(error.faults) == sorted(error.faults, key=lambda fault: fault.line)
    for fault in error.faults:
        tells_what_to_do(fault, text)


def tells_what_to_do(fault: PlanFault, text: str) -> None:
    assert 1 <= fault.line <= text.count("\n") + 1
    assert fault.what.isprintable()
    assert re.fullmatch(r"[a-z]+(?:-[a-z0-9]+)*", fault.id)
    assert REMEDY.search(fault.what), fault


@given(Written(sound=False).plan())
def test_any_plan_loads_or_is_refused_with_lines_and_what_to_do(plan: object) -> None:
    text = written(plan)
    result = outcome(text)

    if isinstance(result, PlanError):
        refuses_well(result, text)


@st.composite
def coherent(draw: st.DrawFn) -> dict[str, object]:
    """A plan that holds together, with any of the fields of joints and steps that may stand beside each other."""
    written, ids = Written(sound=True), ["a", "b", "c"][: draw(st.integers(1, 3))]
    free = ("seen_from", "thread", "grade", "prep", "basis", "work_within", "hardware", "counter_hold", "socket", "turn", "hand")
    also = ("mark", "critical", "reopen", "wrench", "adapter", "wheel", "pattern", "mirror")
    loose = {name: texts for name, texts in written.joint_fields().items() if name in (*free, *also)}
    band = st.sampled_from([{"torque": "95"}, {"torque": "95", "tolerance": "±5 Nm"}, {"low": "90", "high": "95.20"}])
    rounds = st.sampled_from([{}, {"stages": ["snug", "50", "100", "100"], "start": ["2", "1", "4"]}, {"start": "3"}])
    order = st.sampled_from([{}, {"order": "cross"}, {"order": "in line"}, {"order": ["2", "1", "4", "3"]}])
    nut = st.sampled_from([{}, *({"nut": "prevailing", "drag": drag} for drag in ("included", "measured", "4 N·m", "40 Nm"))])
    turned = st.sampled_from([{}, {"then_angle": "90", "angle_tolerance": "7.5"}, {"cure": "24 h"}])
    parts = (band, rounds, order, nut, turned, st.fixed_dictionaries({}, optional=loose))
    joints: list[dict[str, object]] = []
    for name in ids:
        fields: dict[str, object] = {}
        for part in parts:
            fields |= draw(part)
        joints.append({"id": name, "name": "A", "fasteners": "4", **fields})
    again = [str(joint["id"]) for joint in joints if not {"then_angle", "cure"} & set(joint)]
    plan = {"plan": "p", "title": "T", "revision": "A", "source": "S", "unit": "Nm", "tolerance": "8 %", "joints": joints}
    plan |= draw(st.sampled_from([{"small_drag": "add"}, {"small_drag": "leave out below a third", "item": "VIN"}]))
    return plan | draw(st.sampled_from([{}, {"steps": draw(steps_of(ids, again))}]))


@st.composite
def steps_of(draw: st.DrawFn, ids: list[str], again: list[str]) -> list[dict[str, object]]:
    """Steps in an order that holds together; each but the torque steps may be left out."""
    some = [name for name in ids if draw(st.booleans())]
    point = {"hold point": "ready", "ask": "Ready", "sign": "lead", "measure": {"unit": "mm", "low": "-1", "high": "2.5"}}
    steps: list[list[dict[str, object]]] = [
        [{"caution": "Chocked"}],
        [{"fit": ids, "positions": ["1", "3"]}, {"fit": ids, "positions": ["2", "4"]}],
        [{"loose": some}] if some else [],
        [point, {"torque": ids[0], "after": "ready"}] if len(ids) > 1 else [{"torque": ids}],
        [{"torque": ids[1:], "after": ids[0], "covers": ids}] if len(ids) > 1 else [],
        [{"open": some, "as_found": "yes"}, {"do": "Look"}, {"torque": some, "covers": some}] if some else [],
        [{"recheck": again, "after": ids}] if again else [],
        [{"retorque": again, "from": "40 km", "to": "50 miles", "method": "back off a turn"}] if again else [],
    ]
    return [step for group in steps if any("torque" in step for step in group) or draw(st.booleans()) for step in group]


@given(coherent())
def test_a_plan_that_holds_together_loads_comes_back_from_the_ledger_and_is_the_same_plan_in_any_layout(plan: object) -> None:
    text = written(plan)
    route = outcome(text)

    assert isinstance(route, Route), route
    assert route_from_body(json.loads(canonical(route_to_body(route)))) == route
    assert outcome(json.dumps(plan, sort_keys=True)) == route
    for joint in route.joints:
        assert joint.final.share_percent == 100
        assert all(stage.band.low_nm < stage.band.target_nm < stage.band.high_nm for stage in joint.stages)
        assert all(sorted(joint.order_of(stage)) == [1, 2, 3, 4] for stage in joint.stages)


@given(Written(sound=True).plan())
def test_a_plan_of_well_written_fields_is_refused_only_for_what_they_say_together(plan: object) -> None:
    text = written(plan)
    route = outcome(text)

    if isinstance(route, PlanError):
        refuses_well(route, text)
        assert all(fault.id != "field" for fault in route.faults)
    else:
        ids = set(route.by_id())
        assert {name for step in route.steps for name in (*step.joints, *step.covers)} <= ids
        assert len(ids) == len(route.joints)


def test_every_field_of_the_language_is_among_what_is_tried() -> None:
    tried = Written(sound=True)

    def names(model: type[PlanModel] | type[JointModel]) -> set[str]:
        return {info.alias or name for name, info in model.model_fields.items()}

    assert set(tried.joint_fields()) | {"id", "name", "fasteners"} == names(JointModel)
    assert set(tried.steps()) == set(STEP_MODELS)
