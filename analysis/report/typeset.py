"""Plain texts in dicts, set by a template as PDF/A-3a and PDF/UA-1 in our own fonts; the same texts give the same bytes."""

import json
from datetime import datetime
from functools import lru_cache
from pathlib import Path
from typing import Any, cast

import typst

from analysis.report.printable import FONTS, Printable, in_ascii

# Read by a machine or aloud and not set as text of ours, so without marks for a line's end or direction.
_NOT_SET = frozenset({"alt", "document_title", "file_name", "svg"})
_NO_SUCH_SIGN = ("could not be displayed", "codepoint")


def typeset(template: Path, content: dict[str, Any], made_at: str, **inputs: str) -> bytes:
    """The PDF of a template whose words are `content`; `made_at` is RFC 3339, `inputs` reach the template as they are.

    A sign that the fonts lack is written out as its code point; `missing_signs` in the template's content counts them.
    TypstError where the PDF cannot be made, such as from a picture that is none.
    """
    made = datetime.fromisoformat(made_at).replace(microsecond=0)
    try:
        return _set(template, content, made, inputs, Printable())
    except typst.TypstError as error:
        if not any(sign in error.message for sign in _NO_SUCH_SIGN):
            raise
    # The font has each of the signs, yet not as they stand together; plain letters are always there.
    return _set(template, content, made, inputs, Printable(in_ascii))


def _set(template: Path, content: dict[str, Any], made: datetime, inputs: dict[str, str], printable: Printable) -> bytes:
    texts = _each_text(content, printable, "")
    texts["missing_signs"] = len(printable.missing)
    given = {**inputs, "content": json.dumps(texts, ensure_ascii=False)}
    # A compiler is made for each document, so that two threads never share one.
    compiler = typst.Compiler(template, root=template.parent, font_paths=_fonts())
    pdf = compiler.compile(format="pdf", sys_inputs=given, pdf_standards=["a-3a", "ua-1"], timestamp=made)
    # A list comes only for pictures of several pages, and None only where a file to write is named.
    return cast(bytes, pdf)


def _each_text(value: Any, printable: Printable, key: str) -> Any:  # noqa: ANN401  # JSON of any shape
    if isinstance(value, dict):
        return {name: _each_text(inner, printable, name) for name, inner in value.items()}
    if isinstance(value, list | tuple):
        return [_each_text(inner, printable, key) for inner in value]
    if not isinstance(value, str):
        return value
    return printable.plain(value) if key in _NOT_SET else printable.cell(value)


@lru_cache(maxsize=1)
def _fonts() -> typst.Fonts:
    return typst.Fonts(include_system_fonts=False, include_embedded_fonts=False, font_paths=[FONTS])
