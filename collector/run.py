"""The flow: source → frame → reading → match → verdict → ledger, one event at a time on the thread that writes."""

from collections.abc import Callable, Iterable, Iterator
from itertools import islice

from collector.answer import take_press
from collector.bench import Bench, keep_match
from collector.decode.frame import decode_frame
from collector.decode.peaks import A_SAMPLE
from collector.decode.typed import decode_typed
from collector.expect.ask import expect_answer
from collector.links import Links
from collector.show import show_pull, show_screen
from collector.wrench_told import news_of_wrench
from schemas.bodies import LinkKept, MatchKept
from schemas.errors import Fate, FrameError, RecordError
from schemas.fastener_state import Pull
from schemas.fold import many_entries
from schemas.frame import Frame, LinkChange, Reading
from schemas.screen import Last, Press, PressWord, Screen
from schemas.words import Kind, Link

Event = Frame | LinkChange | Press
Show = Callable[[Screen], None]
LOG_ROWS_A_COMMIT = 1000


def run(events: Iterable[Event], bench: Bench, show: Show) -> None:
    """Take events until all sources have ended or someone quits; each is durable before `show` is called with what it made.

    RecordError ends it: then nothing of the event in hand is recorded and nothing was shown of it.
    """
    last: Last | None = None
    links, notice = Links(bench.feeds), ""
    _show(bench, show, last, links, notice)
    for event in events:
        with bench.recorder.transaction():
            match event:
                case Frame():
                    taken = _take_frame(bench, event)
                    if not _is_usual(taken):
                        last, notice = _show_taken(bench, taken), news_of_wrench(taken)
                case LinkChange():
                    last = _take_link(bench, event) or last
                    notice = links.take(event)
                case Press():
                    notice = take_press(bench, event)
                    _count(bench)
                    last = _refreshed(bench, last)
        ended = links.have_ended or (isinstance(event, Press) and event.word is PressWord.QUIT)
        _show(bench, show, last, links, notice, ended)
        if ended:
            return


@many_entries()
def run_log(frames: Iterator[Frame], bench: Bench, progress: Callable[[int], None]) -> None:
    """Take the rows of a log, a thousand a commit; a row that was stored before is left out. Asks nothing.

    Where they belong is found afterwards, of the whole log at once (`closing`).
    """
    rows = 0
    while batch := list(islice(frames, LOG_ROWS_A_COMMIT)):
        with bench.recorder.transaction():
            for frame in batch:
                _take_frame(bench, frame)
        rows += len(batch)
        progress(rows)


def _take_frame(bench: Bench, frame: Frame) -> Pull | FrameError | None:
    kept = bench.keep_frame(frame) if bench.log is None else None
    frame, kept, read = bench.pick_peak((frame, kept, _decode(bench, frame)))
    if read is A_SAMPLE:
        return A_SAMPLE
    new = bench.tell_new(frame, read)
    if new is None:
        return None
    decoded, identity = new
    if isinstance(decoded, FrameError):
        bench.keep_not_read(frame, kept, decoded, identity)
        return decoded
    pull = bench.job.pulls[bench.keep_reading(frame, kept, decoded, identity)]
    _match(bench, pull)
    return pull


def _show_taken(bench: Bench, taken: Pull | FrameError | None) -> Last | None:
    if isinstance(taken, FrameError):
        return Last(str(taken.fate), f"{taken.fate}: {taken}")
    return show_pull(bench.job, taken) if taken is not None else None


def _is_usual(taken: Pull | FrameError | None) -> bool:
    return isinstance(taken, FrameError) and taken.is_usual


def _decode(bench: Bench, frame: Frame) -> Reading | FrameError:
    feed = bench.feed_of(frame.source)
    try:
        return decode_typed(feed.wire, frame) if feed.is_typed else decode_frame(feed.wire, frame)
    except FrameError as error:
        return error
    except Exception as error:  # noqa: BLE001  # a fault in the decoder must not cost the bytes
        return FrameError(f"decoding failed ({error!r}); look at these bytes", Fate.UNREADABLE)


def _match(bench: Bench, pull: Pull) -> None:
    try:
        for match in bench.matcher.match_reading(bench.job, pull):
            keep_match(bench, match)
        _count(bench)
    except RecordError:
        raise
    except Exception as error:  # noqa: BLE001  # a fault in the matcher must not cost the frame and its reading
        if pull.match is None:
            what = f"matching failed ({error!r}); look at this pull"
            bench.recorder.append(MatchKept(pull.reading.job, pull.seq, Kind.STRAY, what))


def _count(bench: Bench) -> None:
    for count in bench.matcher.count(bench.job):
        bench.recorder.append(count)


def _take_link(bench: Bench, change: LinkChange) -> Last | None:
    begun = bench.peaks.end(change.source) if change.link in (Link.LOST, Link.ENDED) else []
    in_doubt = bench.joint_in_doubt(change.source) if change.link is Link.LOST else None
    if in_doubt is None and change.link is Link.LOST and begun and (target := bench.matcher.expect_next(bench.job)):
        in_doubt = target.joint.id
    body = LinkKept(
        bench.job.opened.job, change.source, str(change.link), in_doubt, change.detail or None, bench.simulated_mark
    )
    bench.recorder.append(body, bench.by, change.at, change.mono_ns)
    last = None
    for frame, kept, unfinished in begun:
        bench.keep_not_read(frame, kept, unfinished)
        last = _show_taken(bench, unfinished)
    return last


def _refreshed(bench: Bench, last: Last | None) -> Last | None:
    pull = bench.job.last_pull
    return show_pull(bench.job, pull) if pull is not None and last is not None and last.n == pull.n else last


def _show(bench: Bench, show: Show, last: Last | None, links: Links, notice: str, ended: bool = False) -> None:
    target = bench.matcher.expect_next(bench.job)
    ask = expect_answer(bench.job, target, bench.to_confirm)
    show(show_screen(bench.job, target, ask, last, links.text, links.are_up, notice, ended, bench.recorder.fold.wrenches))
