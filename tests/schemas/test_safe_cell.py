"""Texts that a spreadsheet would run, made safe for a CSV cell and brought back unchanged."""

import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from schemas.safe_cell import plain_text, safe_text

# Made of the very signs that the rule speaks of, so that their combinations are met.
HOSTILE = st.text(alphabet="'=+-@＝＋－＠;,\t\r\n\0\"| \u00a0\u200b\ufeffa1", max_size=12)


@pytest.mark.parametrize(
    ("text", "cell"),
    [
        # The beginnings that OWASP's page "CSV Injection" names (from memory), and one of its kind of payload.
        pytest.param("=1+1", "'=1+1", id="equals"),
        pytest.param('=HYPERLINK("http://example.invalid","x")', '\'=HYPERLINK("http://example.invalid","x")', id="link"),
        pytest.param("+ok", "'+ok", id="plus"),
        pytest.param("-J2", "'-J2", id="minus"),
        pytest.param("@sum", "'@sum", id="at"),
        pytest.param("\tx", "'\tx", id="tab"),
        pytest.param("\rx", "'\rx", id="carriage-return"),
        pytest.param("\nx", "'\nx", id="line-feed"),
        pytest.param("\0x", "'\0x", id="nul"),
        pytest.param("＝1+1", "'＝1+1", id="full-width"),
        pytest.param("  =1+1", "'  =1+1", id="behind-spaces"),
        pytest.param("\u00a0\ufeff@x", "'\u00a0\ufeff@x", id="behind-invisible-marks"),
        pytest.param('"=1"', '\'"=1"', id="behind-a-quote"),
        pytest.param("'=1", "''=1", id="behind-its-own-apostrophe"),
        pytest.param("left;=1+1", "left;'=1+1", id="new-cell-behind-a-semicolon"),
        pytest.param("left\n=1+1", "left\n'=1+1", id="new-row"),
        pytest.param("\t=1", "'\t'=1", id="both-places"),
    ],
)
def test_what_a_spreadsheet_would_run_gets_one_apostrophe_in_front(text: str, cell: str) -> None:
    assert safe_text(text) == cell
    assert plain_text(cell) == text


@pytest.mark.parametrize(
    "text",
    [
        pytest.param("", id="empty"),
        pytest.param("Hub nuts, left", id="words"),
        pytest.param("M14x2, 8.8 - dry", id="minus-inside"),
        pytest.param("battery low; 3 = three", id="semicolon-and-later-equals"),
        pytest.param("'tis dry", id="apostrophe-of-its-own"),
        pytest.param("''", id="only-apostrophes"),
        pytest.param("0042", id="leading-zeros"),
        pytest.param("12E5", id="looks-like-a-number"),
        pytest.param("±5 N·m", id="plus-minus-sign"),
    ],
)
def test_an_ordinary_text_is_the_same_in_the_cell_and_back(text: str) -> None:
    assert safe_text(text) == text
    assert plain_text(text) == text


@given(HOSTILE | st.text())
def test_every_text_comes_back_unchanged(text: str) -> None:
    assert plain_text(safe_text(text)) == text


@given(HOSTILE)
def test_no_cell_begins_with_what_is_run_wherever_a_spreadsheet_cuts(text: str) -> None:
    for cell in re.split("[;\t\r\n]", safe_text(text)):
        assert cell.lstrip("\0 \"\u00a0\u200b\ufeff")[:1] not in tuple("=+-@＝＋－＠")
    assert safe_text(text)[:1] not in ("\t", "\r", "\n", "\0")
