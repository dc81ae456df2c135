"""A log in which the readings of several jobs lie one among the other: shared out to their plans, then read into each job."""

from collections.abc import Sequence

from collector.acquire.log_file import LogSource
from collector.decode.frame import decode_frame
from collector.expect.click import Click
from collector.expect.job_clicks import pulled_order, seconds_of
from collector.expect.learned import habits_of
from collector.expect.share_out import share_out
from collector.record.recorder import Recorder
from schemas.errors import FrameError
from schemas.frame import Frame, Reading
from schemas.route import Route


def rows_by_plan(source: LogSource, routes: Sequence[Route], recorder: Recorder, wrench: str | None) -> list[list[Frame]]:
    """The rows of a log for each plan, in their order; what belongs to none, or cannot be read, goes with the first plan.

    `wrench` is the one in use where a row names none.
    """
    frames = list(source.rows())
    clicks: list[Click] = []
    numbers: list[int | None] = []
    at: list[int] = []
    for index, frame in enumerate(frames):
        try:
            reading = decode_frame(source.wire_format, frame)
        except FrameError:
            continue
        clicks.append(_click(len(clicks) + 1, reading, wrench))
        numbers.append(reading.sequence)
        at.append(index)
    # Many wrenches give their last reading first.
    order = pulled_order(clicks, numbers)
    plans = share_out(routes, [clicks[index] for index in order], habits_of(recorder.fold.habits).figures) if clicks else []
    plan_of = {at[index]: plan for index, plan in zip(order, plans, strict=True)}
    shared: list[list[Frame]] = [[] for _ in routes]
    for index, frame in enumerate(frames):
        shared[plan_of.get(index) or 0].append(frame)
    return shared


def _click(n: int, reading: Reading, wrench: str | None) -> Click:
    torque_nm = None if reading.torque_nm is None else float(reading.torque_nm)
    angle_deg = None if reading.angle_deg is None else float(reading.angle_deg)
    return Click(n, torque_nm, reading.wrench or wrench, seconds_of(reading.pulled_at or reading.tool_time), angle_deg)
