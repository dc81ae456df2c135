"""One day in full, truth beside answer, for whoever wants to see where a matcher went wrong."""

from collections.abc import Iterator, Sequence

from benchmarks.score import SURE, is_placed
from collector.expect.click import Click
from collector.expect.smooth import LogAnswer, Placed
from schemas.route import Route
from sim.shop.truth import ShopDay, Touch


def shown_day(route: Route, day: ShopDay, clicks: Sequence[Click], answer: LogAnswer) -> Iterator[str]:
    """The plan, then a line a reading, then a line a place; `!` stands before what is wrong (`k`: the kind alone)."""
    yield f"{day.shop}, fitter {day.fitter}: {len(clicks)} readings, {len(day.missed)} missed, p_complete {answer.p_complete:.4f}"
    for joint in route.joints:
        bands = ", ".join(f"{stage.band.low_nm}–{stage.band.high_nm}" for stage in joint.own_stages)
        yield f"  {joint.id} ({joint.name}): {joint.fasteners} fasteners, {joint.order_word}, N·m {bands}"
    yield f"  {'n':>4} {'gap s':>7} {'wrench':<8} {'N·m':>7} {'angle':>6}  {'truth':<30} answer"
    before: float | None = None
    for click, true, told in zip(clicks, day.truth, answer.readings, strict=True):
        gap = "–" if before is None or click.at_s is None else f"{click.at_s - before:.1f}"
        before = click.at_s
        yield f"{_mark(true, told)} {click.n:>4} {gap:>7} {_seen(click)}  {_place(true):<30} {_place(told):<30} {told.p:.4f}"
    yield from _places(route, day, answer)


def _places(route: Route, day: ShopDay, answer: LogAnswer) -> Iterator[str]:
    for joint in route.joints:
        for stage in joint.own_stages:
            place = (joint.id, stage.number)
            gone = [position for name, number, position in day.missed if (name, number) == place]
            p, counted = answer.p_places[place], answer.tightened.get(place, joint.fasteners)
            mark = "!" if (p >= SURE) == bool(gone) else " "
            told = f"{counted} of {joint.fasteners} tightened, p_complete {p:.4f}"
            yield f"{mark} {joint.id} stage {stage.number}: {told}, truth: {f'missed {gone}' if gone else 'done'}"


def _mark(true: Touch, told: Placed) -> str:
    return "!" if not is_placed(told, true) else " " if told.kind is true.kind else "k"


def _seen(click: Click) -> str:
    torque = "–" if click.torque_nm is None else f"{click.torque_nm:.1f}"
    angle = "–" if click.angle_deg is None else f"{click.angle_deg:.0f}"
    return f"{click.wrench or '–':<8} {torque:>7} {angle:>6}"


def _place(one: Touch | Placed) -> str:
    return one.kind if one.joint is None else f"{one.joint}/{one.stage}/{one.position} {one.kind}"
