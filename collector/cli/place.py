"""Where things lie and what time it is: the database, the settings beside it, the clock; and the program's version."""

import argparse
import logging
import os
import sys
import time
import tomllib
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass, field
from datetime import UTC, datetime
from decimal import Decimal
from importlib import metadata
from logging.handlers import RotatingFileHandler
from pathlib import Path

from schemas.database import LEDGER_FORMAT, PLAN_FORMAT
from schemas.errors import RecordError
from schemas.likelihood import read_limit

NAME = "witnessmark"
LOG = logging.getLogger(NAME)


class SystemClock:
    """The machine's own clock; its monotonic count starts when it is made."""

    def __init__(self) -> None:
        self._origin_ns = time.monotonic_ns()

    def now(self) -> datetime:
        """The present instant, UTC."""
        return datetime.now(UTC)

    def monotonic_ns(self) -> int:
        """Nanoseconds since this clock was made."""
        return time.monotonic_ns() - self._origin_ns


@dataclass(frozen=True, slots=True)
class Settings:
    """The shop's settings, from `settings.toml` beside the database.

    `k` are the shop's own nut factors by preparation, such as `oil = "0.10 to 0.16"` in its table `[k]`. `p_limit` is from where
    on a probability counts as sure, where the shop asks for more than 0.99.
    """

    workshop: str = "Workshop (not named)"
    k: Mapping[str, str] = field(default_factory=dict)
    p_limit: str | None = None


def version() -> str:
    """The program's name and version."""
    return f"{NAME} {metadata.version(NAME)}"


def show_version(_: argparse.Namespace) -> int:
    """Print program, ledger and plan format."""
    say(f"{version()}, ledger format {LEDGER_FORMAT}, plan format {PLAN_FORMAT}")
    return 0


def show_help(chosen: argparse.Namespace) -> int:
    """Print what can be asked; nothing was asked."""
    chosen.parser.print_help(sys.stderr)
    return 2


def database_path(named: str | None) -> Path:
    """The audit database: the one named, else that of WITNESSMARK_DB, else the platform's place for data."""
    given = named or os.environ.get("WITNESSMARK_DB")
    if given:
        return Path(given)
    from platformdirs import user_data_path

    return user_data_path(NAME, appauthor=False) / "audit.db"


def settings(database: Path) -> Settings:
    """The settings beside a database; RecordError, naming the key, where the file is not as it should be."""
    path = database.parent / "settings.toml"
    if not path.exists():
        return Settings()
    try:
        told = tomllib.loads(path.read_text(encoding="utf-8"), parse_float=Decimal)
    except (OSError, ValueError) as error:
        raise RecordError(f"{path}: cannot be read ({error}); mend it or take it away") from error
    k, limit = told.get("k", {}), told.get("p_limit")
    wrong = sorted(set(told) - {"workshop", "k", "p_limit"})
    wrong += ["workshop"] * (not isinstance(told.get("workshop", ""), str))
    wrong += ["k"] * (not isinstance(k, dict) or not all(isinstance(text, str) for text in k.values()))
    wrong += ["p_limit"] * (limit is not None and not isinstance(limit, Decimal))
    if wrong:
        raise RecordError(
            f'{path}, `{wrong[0]}`: not a setting of this version; known are `workshop = "Name"`, `p_limit = 0.995` and a table'
            ' `[k]` with lines such as `oil = "0.10 to 0.16"`'
        )
    if k:
        _refuse_no_range(path, k)
    return Settings(**{**told, "p_limit": None if limit is None else _limit(path, limit)})


def _limit(path: Path, limit: Decimal) -> str:
    try:
        read_limit(f"{limit:f}")
    except ValueError as error:
        raise RecordError(f"{path}, `p_limit`: {error}") from error
    return f"{limit:f}"


def _refuse_no_range(path: Path, k: Mapping[str, str]) -> None:
    from schemas.mechanics.preload import read_k_ranges

    try:
        read_k_ranges(k)
    except ValueError as error:
        raise RecordError(f"{path}, [k] {error}") from error


@contextmanager
def log_beside(database: Path) -> Iterator[None]:
    """While inside, what the program goes through is written to a rotating log beside the database: no name, no raw byte."""
    handler = RotatingFileHandler(database.parent / "witnessmark.log", maxBytes=1_000_000, backupCount=3, encoding="utf-8")
    handler.setFormatter(logging.Formatter("%(asctime)s %(levelname)s %(message)s"))
    LOG.addHandler(handler)
    LOG.setLevel(logging.INFO)
    LOG.propagate = False
    try:
        yield
    finally:
        LOG.removeHandler(handler)
        handler.close()


def say(text: str) -> None:
    """Print data, what was asked for, on standard output."""
    print(text)  # noqa: T201


def tell(text: str) -> None:
    """Print everything that is not data on standard error."""
    print(text, file=sys.stderr)  # noqa: T201
