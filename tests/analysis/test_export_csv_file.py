"""An exported CSV file, read back with Python's own csv module and with pandas."""

import csv
import io

import pandas as pd
from hypothesis import given
from hypothesis import strategies as st

from analysis.export import Export, Scope, What, write_csv
from analysis.export.columns import COLUMNS
from analysis.load.record import Tree
from schemas.safe_cell import plain_text

NOTES = ['=HYPERLINK("http://example.invalid","x")', "@sum", "+ok", "-J2", "'=1", "a,b", 'say "x"', "two\r\nlines", "", "ok"]


def export(rows, what=What.CHECKS):
    return Export(Scope(what), COLUMNS[what], iter(rows), len(rows), False, (), Tree(1, "ab", 1))


def check(void="", shown="-20.0", wrench="W-140"):
    return ("2026-03-02", wrench, "95.20", shown, "N·m", "Mira Tannwald", "95.20", shown, "-0.5000", void, "", 7)


def written(rows, **more) -> bytes:
    target = io.BytesIO()
    assert write_csv(export(rows), target, **more) == len(rows)
    return target.getvalue()


def cells(data: bytes):
    return list(csv.reader(io.StringIO(data.decode("utf-8-sig"), newline=""), strict=True))


def test_the_bytes_are_those_of_rfc_4180_with_a_mark_in_front() -> None:
    # RFC 4180, sections 2.1, 2.3, 2.6, 2.7: CRLF behind each record, a header, quotes around a comma, a quote doubled.
    assert written([check('slipped, "twice"')]) == (
        b"\xef\xbb\xbftime,wrench,reference,shown,unit,by,reference_nm,shown_nm,error_percent,void,simulated,entry\r\n"
        b"2026-03-02,W-140,95.20,-20.0,N\xc2\xb7m,Mira Tannwald,95.20,-20.0,-0.5000,\"slipped, \"\"twice\"\"\",,7\r\n"
    )


def test_the_mark_can_be_left_out_and_the_stream_stays_open() -> None:
    target = io.BytesIO()

    write_csv(export([check()]), target, with_bom=False)

    assert target.getvalue().startswith(b"time,")
    target.write(b"more")


def test_numbers_keep_their_digits_and_get_no_apostrophe() -> None:
    row = cells(written([check(shown="-20.0"), check(shown="+25.10")]))[1:]

    assert [cells[3] for cells in row] == ["-20.0", "+25.10"]
    # What a reader of numbers makes of the column.
    assert pd.read_csv(io.BytesIO(written([check(shown="-20.0")])))["shown"].tolist() == [-20.0]


def test_what_stands_in_a_column_of_numbers_and_is_none_is_text() -> None:
    assert cells(written([check(shown="-20.0+cmd|x")]))[1][3] == "'-20.0+cmd|x"


def test_hostile_notes_stay_text_and_come_back_unchanged() -> None:
    notes = [row[9] for row in cells(written([check(note) for note in NOTES]))[1:]]

    assert not [note for note in notes if note[:1] in tuple("=+-@")]
    assert [plain_text(note) for note in notes] == NOTES


def test_another_reader_sees_the_same_texts() -> None:
    # Every row ends in CR LF, and the texts of NOTES are those that a reader could fall over.
    frame = pd.read_csv(io.BytesIO(written([check(note) for note in NOTES])), dtype=str, keep_default_na=False)

    assert [plain_text(note) for note in frame["void"]] == NOTES


def test_an_id_that_looks_like_a_number_is_written_as_it_is() -> None:
    ids = ["0042", "42", "12E5", "12345678901234567", "2-3", "NA"]

    assert [row[1] for row in cells(written([check(wrench=name) for name in ids]))[1:]] == ids


def test_no_row_gives_the_header_alone() -> None:
    assert len(cells(written([]))) == 1


@given(st.lists(st.tuples(st.text(), st.text()), max_size=4))
def test_every_text_comes_back_from_the_file(texts) -> None:
    back = cells(written([check(void, wrench=wrench) for wrench, void in texts]))[1:]

    assert [(plain_text(row[1]), plain_text(row[9])) for row in back] == texts
