"""What is asked of one source on the command line: which one, and how its records are read."""

import argparse
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from typing import Any

BAUD = 9600


@dataclass(frozen=True, slots=True)
class AskedSource:
    """One `--from` with the options that belong to it; None and the defaults where none was given."""

    source: str = ""
    wire: str | None = None
    wrench: str | None = None
    baud: int = BAUD
    dtr: bool = False

    @property
    def kind(self) -> str:
        """What stands before the colon, such as `serial`."""
        return self.source.partition(":")[0]

    @property
    def where(self) -> str:
        """What stands behind the colon."""
        return self.source.partition(":")[2]


class InOrder(argparse.Action):
    """Keeps options in the order in which they were typed, as pairs of field and value in `ordered`."""

    def __call__(
        self,
        parser: argparse.ArgumentParser,
        namespace: argparse.Namespace,
        values: str | Sequence[Any] | None,
        option_string: str | None = None,
    ) -> None:
        """Add one more."""
        given = True if self.nargs == 0 else values
        namespace.ordered = (*getattr(namespace, "ordered", ()), (self.dest, given))


def asked_sources(ordered: Iterable[tuple[str, Any]]) -> tuple[AskedSource, ...]:
    """The sources in the order asked for.

    Args:
        ordered: fields of `AskedSource` and values as they were typed. What stands before the first source is for all of
            them, what stands behind one for that one alone; of two values for one source the later one holds.
    """
    for_all, asked = AskedSource(), list[AskedSource]()
    for field, value in ordered:
        if field == "source":
            asked.append(replace(for_all, source=value))
        elif asked:
            asked[-1] = replace(asked[-1], **{field: value})
        else:
            for_all = replace(for_all, **{field: value})
    return tuple(asked)
