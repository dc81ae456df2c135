"""Cuts one line of a CSV file into cells; one line at a time, so that an open quote spoils its own line and no other."""

import csv


def csv_cells(line: str, mark: str = ",") -> list[str]:
    """The cells of a line without its end, quotes taken away as RFC 4180 has them; a quote inside a bare cell stays.

    Raises:
        csv.Error: a quote that opens and does not end, a sign behind a closing quote, a cell above 131,072 signs.
    """
    return next(csv.reader([line], delimiter=mark, strict=True), [])


def open_quote_cell(line: str, mark: str = ",") -> int | None:
    """The number, from 1, of the cell whose quote opens and does not end in its line; None where every quote ends."""
    try:
        csv_cells(line, mark)
    except csv.Error as error:
        if "unexpected end of data" in str(error):
            return len(next(csv.reader([line], delimiter=mark)))
    return None
