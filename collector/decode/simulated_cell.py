"""Obeys the column `simulated` of an exported table, so that made-up rows do not come back as real ones. Pure."""

_MARK = "SIMULATED"


def why_not_real(cell: str) -> str | None:
    """Why a row with this in its column `simulated` must not be taken as real, in one line; None for an empty cell."""
    if not cell:
        return None
    if cell.upper() == _MARK:
        return "is SIMULATED: made by a program, not by a wrench"
    return f"has another word than {_MARK} in its column `simulated`; empty that cell if a wrench made the row"
