"""A text on the page shows each of its signs, or the code point of one that cannot be shown, and fits its place."""

import pytest

from analysis.report.printable import BREAK, Fitted, Printable, in_ascii, is_long


@pytest.mark.parametrize(
    ("text", "shown", "missing"),
    [
        pytest.param("N·m ± ° × ✓ ü á ● ▲ ▼ ◆ ⟨⟩", "N·m ± ° × ✓ ü á ● ▲ ▼ ◆ ⟨⟩", 0, id="signs-of-the-trade"),
        pytest.param("日本日", "⟨U+65E5⟩⟨U+672C⟩⟨U+65E5⟩", 2, id="not-in-the-fonts"),
        pytest.param("a\u00adb\u200bc\ufeff", "a⟨U+00AD⟩b⟨U+200B⟩c⟨U+FEFF⟩", 3, id="no-shape"),
        pytest.param("\ue000", "⟨U+E000⟩", 1, id="private-use"),
        pytest.param("\u1680", "⟨U+1680⟩", 1, id="a-space-that-only-one-font-has"),
        pytest.param("a\u202eb\x00", "a⟨U+202E⟩b⟨U+0000⟩", 0, id="order-and-control-signs-of-the-wording"),
        pytest.param("é: 5\u00a0N·m\tand\nmore", "é: 5\u00a0N·m\tand\nmore", 0, id="spaces-stay"),
        pytest.param("\U0001f527", "⟨U+1F527⟩", 1, id="beyond-the-first-plane"),
    ],
)
def test_each_sign_is_shown_or_written_out(text: str, shown: str, missing: int) -> None:
    printable = Printable()

    assert printable.plain(text) == shown
    assert len(printable.missing) == missing


def test_with_plain_letters_alone_all_others_are_written_out() -> None:
    printable = Printable(in_ascii)

    assert printable.cell("é ⟨ok⟩") == "⟨U+00E9⟩ ⟨ok⟩"
    assert printable.missing == {"é"}


@pytest.mark.parametrize(
    ("text", "room_em", "pieces"),
    [
        pytest.param("Tannwald", 6.0, ["Tannwald"], id="a-word-that-fits"),
        pytest.param("two words that fit alone", 4.0, ["two words that fit alone"], id="words-have-their-own-breaks"),
        pytest.param("WWWWWWW", 5.0, ["WWW", "WWW", "W"], id="wide-letters-that-do-not-fit"),
        pytest.param("iiiiiiiiiiii", 5.0, ["iiiiiiiiiiii"], id="as-many-narrow-letters-fit"),
        pytest.param(
            "abe\u0301\u0323ae\u0301abc", 2.0, ["abe\u0301\u0323", "ae\u0301", "abc"], id="accents-stay-with-their-letters"
        ),
    ],
)
def test_a_word_may_be_broken_only_where_it_does_not_fit(text: str, room_em: float, pieces: list[str]) -> None:
    assert Printable().cell(Fitted(text, room_em)).split(BREAK) == pieces


def test_a_text_from_right_to_left_is_kept_apart_from_its_neighbours() -> None:
    assert Printable().cell("עברית 5") == "\u2068עברית 5\u2069"
    assert Printable().plain("עברית 5") == "עברית 5"


def test_a_name_that_is_kept_apart_already_stays_so_and_loose_signs_are_written_out() -> None:
    assert Printable(in_ascii).plain("\u2068\u05d0\u2069, 1") == "\u2068⟨U+05D0⟩\u2069, 1"
    assert Printable().cell("at \u2068עברית\u2069, 1-3") == "\u2068at \u2068עברית\u2069, 1-3\u2069"
    assert Printable().plain("\u2068a\u2069 \u2068עברית") == "⟨U+2068⟩a⟨U+2069⟩ ⟨U+2068⟩עברית"


def test_a_row_is_long_from_where_it_could_outgrow_a_page() -> None:
    assert not is_long(["a" * 100, "b" * 150])
    assert is_long(["a" * 100, "b" * 151])
