"""The work sheet of a plan on paper, for a day without electricity: every step in order, a box to fill in for every fastener."""

from pathlib import Path
from typing import Any

import typst

from analysis.load.places import shortened
from analysis.report.printable import Fitted
from analysis.report.typeset import typeset
from analysis.report.wording import clock_text
from analysis.report.work_sheet_steps import steps_content
from schemas.errors import RecordError
from schemas.route import Route

_TEMPLATE = Path(__file__).with_name("work_sheet.typ")
_VIN_SIGNS = 17
# As wide as the page is, in units of the size of type.
_LINE_EM = 48.0

CAUTIONS = (
    "Before any work under or beside a vehicle: support it, secure it against rolling, and unload what is under tension.",
    "The maker's instructions, local rules and licensed practice come before this sheet and before any plan.",
)
HOW_TO = (
    "Go through the steps from top to bottom, and through the boxes from left to right: that is the tightening order. The "
    "number in a box is the position. Tick the small square when that fastener is done and write the value that the wrench "
    'shows, or "click" where it shows none. A fastener over its band: stop, do not back off and carry on; ask the lead.'
)


def work_sheet_pdf(route: Route, *, made_at: str, item: str = "", order_no: str = "") -> bytes:
    """The work sheet as PDF/A-3a and PDF/UA-1, A4, black on white; the same arguments give the same bytes.

    Args:
        route: any plan, of any size.
        made_at: RFC 3339, UTC; stands on the sheet.
        item: whose work it is, and `order_no`; where empty there is a line to write them on, the item on every page.

    Raises RecordError where the PDF cannot be made.
    """
    try:
        return typeset(_TEMPLATE, _content(route, made_at, item, order_no), made_at)
    except typst.TypstError as error:
        raise RecordError(f"plan `{route.plan}`: the work sheet cannot be made ({error.message}); shorten its texts") from error


def _content(route: Route, made_at: str, item: str, order_no: str) -> dict[str, Any]:
    is_vin = route.item == "VIN"
    return {
        "document_title": f"Work sheet: {route.title}, revision {route.revision}",
        "title": route.title,
        "head": {"plan": shortened(route.plan, 30), "revision": shortened(route.revision, 12), "item": shortened(item, 24)},
        "content_short": route.content_sha256[:12],
        "facts": [
            {"label": "Plan", "value": f"{route.plan}, revision {route.revision}"},
            {"label": "Figures from", "value": route.source},
            {"label": "Plan content", "value": Fitted(f"SHA-256 {route.content_sha256}", _LINE_EM)},
            {"label": "Sheet made", "value": clock_text(made_at)},
        ],
        "item": {"label": "Item (VIN)" if is_vin else "Item", "value": item, "signs": _VIN_SIGNS if is_vin and not item else 0},
        "order_no": order_no,
        "cautions": list(CAUTIONS),
        "how_to": HOW_TO,
        "notes": list(route.notes),
        "steps": steps_content(route),
    }
