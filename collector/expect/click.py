"""What the model of matching sees of one reading: plain numbers, since no verdict is made of them."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Click:
    """One reading, in the order of its log.

    `n` counts from 1. `torque_nm` is None above the tool's range and negative against the usual direction. `at_s` is the
    tool's own time in seconds from any moment on, None where none was sent; `angle_deg` is None where none was sent, `length_mm`
    where the wrench's length is not known.
    """

    n: int
    torque_nm: float | None
    wrench: str | None = None
    at_s: float | None = None
    angle_deg: float | None = None
    length_mm: float | None = None
