"""A file that the program writes: whole or not at all, and never over the audit database."""

import os
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import TypeVar

from schemas.errors import RecordError

Form = TypeVar("Form", bound=str)

_BESIDE = ("", "-wal", "-shm", "-journal", ".lock", ".holder")
"""What stands behind the database's name in the names of the files that SQLite and this program keep beside it."""
_IN_ITS_FOLDER = ("witnessmark.log", "settings.toml")


@contextmanager
def whole_file(target: Path, database: Path) -> Iterator[Path]:
    """Gives a place to write to, which becomes the target at the end; an earlier file stays whole until then.

    Where the target is a link, the file that it points to is written. RecordError where it cannot be written, or belongs to
    the audit database.
    """
    real = Path(os.path.realpath(target))
    if _belongs(real, database):
        raise RecordError(f"{target}: belongs to the audit database; name another file")
    try:
        # In a folder of its own, where no file of anybody has its name, but on the same disk, so that it can be moved; and a
        # file made there gets the rights of any new file, which one of `tempfile` itself would not.
        with TemporaryDirectory(dir=real.parent, prefix=".witnessmark-", ignore_cleanup_errors=True) as folder:
            part = Path(folder) / real.name
            yield part
            part.replace(real)
    except OSError as error:
        raise RecordError(f"{target}: cannot be written ({error.strerror}); name another file") from error


def _belongs(real: Path, database: Path) -> bool:
    for named in (database, Path(os.path.realpath(database))):
        own = [named.with_name(named.name + ending) for ending in _BESIDE] + [named.with_name(name) for name in _IN_ITS_FOLDER]
        for path in own:
            # By its name where it is not there yet; as a file where a disk does not tell capitals from small letters.
            if real == Path(os.path.realpath(path)) or _are_one(real, path):
                return True
    return False


def _are_one(real: Path, path: Path) -> bool:
    # `os.path.exists` answers also for a name that no disk can hold.
    return os.path.exists(real) and os.path.exists(path) and real.samefile(path)


def form_of(target: Path, *forms: Form) -> Form:
    """The file's ending in small letters without its point; RecordError where it is none of `forms`."""
    form = target.suffix.lower().removeprefix(".")
    for known in forms:
        if form == known:
            return known
    endings = " or ".join(f".{one}" for one in forms)
    raise RecordError(f"{target}: give the file the ending {endings}, which says what is written")
