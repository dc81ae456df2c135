"""A workbook of texts: what stands in it stays as it was written, and the same tables give the same bytes."""

import io

from openpyxl import load_workbook

from analysis.export.text_book import write_text_book

ROWS = [["id", "size"], ["=1+1", "3/8"], ["", "0012"], ["x" * 200, "a\x07b"]]


def written(sheets):
    target = io.BytesIO()
    write_text_book(sheets, target, "plan p", "witnessmark 0")
    return target.getvalue()


def test_every_cell_is_the_text_that_was_given():
    book = load_workbook(io.BytesIO(written({"joints": ROWS, "plan": [["field"]]})))

    values = [[cell.value for cell in row] for row in book["joints"].iter_rows()]
    assert values == [["id", "size"], ["=1+1", "3/8"], [None, "0012"], ["x" * 200, "a⟨U+0007⟩b"]]
    assert [cell.data_type for row in book["joints"].iter_rows() for cell in row if cell.value] == ["s"] * 7
    assert book["joints"]["A1"].font.bold
    assert (book.properties.title, book.properties.creator) == ("plan p", "witnessmark 0")
    assert book["joints"].column_dimensions["A"].width == 60


def test_the_same_tables_give_the_same_bytes():
    assert written({"joints": ROWS}) == written({"joints": ROWS})
