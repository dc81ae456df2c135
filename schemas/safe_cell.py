"""Text cells of a CSV file that no spreadsheet runs as a formula, and the way back to the very text. Pure.

A spreadsheet runs a cell that begins with `=`, `+`, `-` or `@`; quoting as in RFC 4180 does not hinder it. The cure that
is usual, an apostrophe in front, is the one of OWASP's page "CSV Injection" (from memory), which also names TAB, CR and
the full-width signs as beginnings, and warns that a separator inside a text can begin a new cell. Numbers are no text
cells: -20.0 is written as it is.
"""

import re

_APOSTROPHE = "'"
# Where lists are separated by semicolons, a spreadsheet cuts a line there and heeds no quotes after a comma.
_SEPARATORS = ";\t\r\n"
# What a spreadsheet may pass over before it looks for a sign: white space, controls, marks without a width, quotes.
_PASSED_OVER = r"(?:[^\S\t\r\n]|[\x00-\x08\x0e-\x1f\x7f\u00ad\u200b-\u200f\u2060-\u2064\ufeff\"])*"
_RUN = f"'*{_PASSED_OVER}[=+\\-@＝＋－＠]"
# Apostrophes belong to what is looked for, so that a text which has one already gets a second one, and the way back is exact.
_AT_START = rf"\A(?='*[\x00\t\r\n]|{_RUN})"
_AFTER_SEPARATOR = f"(?<=[{_SEPARATORS}])(?={_RUN})"
_PUT = re.compile(f"{_AT_START}|{_AFTER_SEPARATOR}")
_TAKE = re.compile(rf"\A'(?='*[\x00\t\r\n]|{_RUN})|(?<=[{_SEPARATORS}])'(?={_RUN})")


def safe_text(text: str) -> str:
    """A text as a CSV cell that stays text: one apostrophe in front where a spreadsheet would run it.

    That is where it begins with `=`, `+`, `-`, `@` or their full-width forms, also behind white space, controls,
    invisible marks, quotes and apostrophes, or where it begins with NUL, TAB, CR or LF. The same holds behind each
    semicolon, TAB and line end inside the text. Any other text is given back as it is.
    """
    return _PUT.sub(_APOSTROPHE, text)


def plain_text(cell: str) -> str:
    """The text that a CSV cell stands for: `plain_text(safe_text(text)) == text` for every text.

    An apostrophe is taken away only where `safe_text` would have put it; any other cell is given back as it is.
    """
    return _TAKE.sub("", cell)
