"""Makes an id of a name: small letters and digits with hyphens between, the only one of its kind. Pure."""

import re
import unicodedata
from collections.abc import Iterable

_LONGEST = 64  # as many signs as an id may have


def slug(text: str, otherwise: str = "joint") -> str:
    """The name as an id: `Rear hanger, left` gives `rear-hanger-left`; letters of every script stay.

    `otherwise` is given for a text without a letter or digit.
    """
    folded = unicodedata.normalize("NFC", text).casefold()
    parts = re.findall(r"[^\W_]+", folded)
    return "-".join(parts)[: _LONGEST - 4].strip("-") or otherwise


def free_id(wanted: str, taken: Iterable[str]) -> str:
    """That id, or where it is taken the same with -2, -3 and so on behind."""
    known = set(taken)
    number, found = 1, wanted
    while found in known:
        number += 1
        found = f"{wanted}-{number}"
    return found
