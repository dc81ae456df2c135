"""How the links of a run stand, one a source; pure."""

from collections.abc import Iterable

from schemas.frame import LinkChange
from schemas.words import Link

_UP = (Link.OPEN, Link.BACK)


class Links:
    """The last word of each link. A source that has not spoken yet counts as open, for a run begins with all of them open.

    Args:
        sources: the names of all sources where there are several; one alone need not be named.
    """

    def __init__(self, sources: Iterable[str] = ()) -> None:
        self._links = dict.fromkeys(sources, Link.OPEN)

    def take(self, change: LinkChange) -> str:
        """Take one more change; gives it in one line, which names the source where there are several."""
        self._links[change.source] = change.link
        named = f"{change.source} " if len(self._links) > 1 else ""
        return f"{named}{change.link}: {change.detail}" if change.detail else f"{named}{change.link}"

    @property
    def are_up(self) -> bool:
        """Whether bytes can come over every one of them."""
        return all(link in _UP for link in self._links.values())

    @property
    def have_ended(self) -> bool:
        """Whether nothing can come any more."""
        return bool(self._links) and all(link is Link.ENDED for link in self._links.values())

    @property
    def text(self) -> str:
        """One line on all of them: the word of the only one; of several those that are down, and how many are up."""
        if len(self._links) < 2:
            return str(next(iter(self._links.values()), Link.OPEN))
        down = [f"{source} {link}" for source, link in self._links.items() if link not in _UP]
        up = f"{len(self._links) - len(down)} of {len(self._links)} up"
        return f"{', '.join(down)}; {up}" if down else up
