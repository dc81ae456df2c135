"""The identity of the thing that is worked on, checked before a job is opened on it."""

from collector.cli.place import tell
from schemas.errors import RecordError
from schemas.route import Route
from schemas.vin import check_vin, looks_like_vin

VIN = "VIN"


def check_item(item: str, route: Route, vin: bool) -> None:
    """Check an item that is declared a VIN, by the plan or by `vin`: RecordError where it cannot be one.

    A wrong check digit is told and goes on, since a vehicle outside its scope carries none. An item that nobody declared a
    VIN and that looks like a mistyped one is told too.
    """
    declared = vin or route.item == VIN
    if not declared and not looks_like_vin(item):
        return
    try:
        remark = check_vin(item)
    except ValueError as error:
        if declared:
            raise RecordError(f"--item: {error}") from error
        remark = str(error)
    if remark is not None:
        tell(f"note: {remark}" if declared else f"note: the item looks like a VIN; if it is one: {remark}")
