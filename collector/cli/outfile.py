"""A file that the program writes: whole or not at all, and never over the audit database."""

from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import TypeVar

from schemas.errors import RecordError

Form = TypeVar("Form", bound=str)


@contextmanager
def whole_file(target: Path, database: Path) -> Iterator[Path]:
    """Gives a place beside `target` to write to, which becomes the target at the end; an earlier file stays whole until then.

    RecordError where it cannot be written, or belongs to the audit database.
    """
    if target.resolve().name.startswith(database.name) and target.resolve().parent == database.resolve().parent:
        raise RecordError(f"{target}: belongs to the audit database; name another file")
    part = target.with_name(f"{target.name}.part")
    try:
        yield part
        part.replace(target)
    except OSError as error:
        raise RecordError(f"{target}: cannot be written ({error.strerror}); name another file") from error
    finally:
        with suppress(OSError):
            part.unlink(missing_ok=True)


def form_of(target: Path, *forms: Form) -> Form:
    """The file's ending in small letters without its point; RecordError where it is none of `forms`."""
    form = target.suffix.lower().removeprefix(".")
    for known in forms:
        if form == known:
            return known
    endings = " or ".join(f".{one}" for one in forms)
    raise RecordError(f"{target}: give the file the ending {endings}, which says what is written")
