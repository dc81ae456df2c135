"""What a record says, field by field, before it is judged what that means."""

from collections.abc import Mapping
from typing import NamedTuple

from schemas.wire_format import FieldName


class Sent(NamedTuple):
    """`values` has the text of each field without the spaces around it, numbers of a binary record scaled and in digits.

    `torque_mark` is what can be one of the format's marks in the place of a torque: the text itself, or the number before
    its scale. `words` are the words of the status and those that flags stand for. `notes` are remarks that do not change
    the value.
    """

    values: Mapping[FieldName, str]
    torque_mark: str
    words: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()
