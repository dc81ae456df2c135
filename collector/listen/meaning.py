"""Says what the columns beside the torque are, from what they did over the pulls. What that does not settle stays unread."""

import re
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field
from itertools import pairwise

from collector.listen.heard import About
from collector.listen.text_torque import PullRow, TextTorque, symbol_of
from schemas.wire_format import FieldName

_ISO = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}[T ][0-9]{2}:[0-9]{2}(?::[0-9]{2}(?:[.,][0-9]+)?)?(?:Z|[+-][0-9]{2}:?[0-9]{2})?")
_WORD = re.compile(r"[A-Za-z]{1,12}")
_NUMBER_OF_A_TOOL = re.compile(r"(?=.*[0-9])[A-Za-z0-9_./-]{4,24}")
_WHOLE = re.compile(r"[0-9]{1,15}")
# From September 2001 to the year 2100: as many digits as a count of seconds, or of milliseconds, has all that time.
_SECONDS = (1_000_000_000, 4_102_444_800)


@dataclass(slots=True)
class Meaning:
    """What each column is (None: not read), the lines that say so in a wire format, the reasons, and what stays open.

    `unit` is our symbol where pulls were typed with one unit only and no column holds it. `lacks` says why the torque
    cannot be read at all, "" where it can.
    """

    names: list[FieldName | None]
    lines: list[str] = field(default_factory=list)
    reasons: list[str] = field(default_factory=list)
    open: list[str] = field(default_factory=list)
    unit: str | None = None
    lacks: str = ""

    def name(self, column: int, name: FieldName, reason: str) -> None:
        """Give a column its name."""
        self.names[column] = name
        self.reasons.append(f"field {column + 1} is the {name.replace('_', ' ')}: {reason}")


def column_meaning(torque: TextTorque) -> Meaning:
    """What the columns beside a torque are."""
    rows = torque.rows
    meaning = Meaning([None] * len(rows[0].row))
    meaning.names[torque.column] = "torque"
    columns = {n: [one.row[n].text for one in rows] for n in range(len(meaning.names)) if n != torque.column}
    _direction(torque, columns, meaning)
    _kind(rows, columns, meaning)
    _unit(torque, columns, meaning)
    _counts(columns, meaning)
    _constants(columns, meaning)
    for column, texts in columns.items():
        if meaning.names[column] is None and len(set(texts)) > 1:
            seen = ", ".join(f"`{text}`" for text in list(dict.fromkeys(texts))[:3])
            meaning.open.append(f"field {column + 1} changes ({seen}) and is not read: nothing here says what it is")
    return meaning


def _free(columns: dict[int, list[str]], meaning: Meaning) -> Iterator[tuple[int, list[str]]]:
    for column, texts in columns.items():
        if meaning.names[column] is None and any(texts):
            yield column, texts


def _direction(torque: TextTorque, columns: dict[int, list[str]], meaning: Meaning) -> None:
    """The column that says which way was pulled, where a value below 0 was typed and the digits have no sign."""
    told = [one for one in torque.rows if one.about and one.says_value]
    if all((torque.digits(one) < 0) == (one.about is not None and one.about.value < 0) for one in told):
        return
    apart = ((n, _apart(told, n, lambda one: one.about is not None and one.about.value < 0)) for n in columns)
    telling = [(n, words) for n, words in apart if words is not None]
    if not telling:
        pulls = ", ".join(str(one.pull + 1) for one in told if one.about and one.about.value < 0) or "no pull"
        meaning.lacks = f"the sign of pull {pulls} is in no field"
        return
    column, (turned, usual) = telling[0]
    meaning.name(column, "direction", f"`{turned[0]}` where a value below 0 was typed, else `{usual[0]}`")
    meaning.lines += [f"tightening: {flow(usual)}", f"loosening: {flow(turned)}"]


def _kind(rows: Sequence[PullRow], columns: dict[int, list[str]], meaning: Meaning) -> None:
    """The column that tells the peak from the values on the way there, where a pull brought more than one record."""
    told = [one for one in rows if one.says_value is not None]
    if all(one.says_value for one in told):
        return
    for column, _ in _free(columns, meaning):
        apart = _apart(told, column, lambda one: one.says_value is True)
        if apart:
            meaning.name(column, "kind", f"`{apart[0][0]}` in the record that fits the value, else `{apart[1][0]}`")
            meaning.lines += [f"peak: {flow(apart[0])}", f"live: {flow(apart[1])}"]
            return
    pull = next(one.pull for one in told if not one.says_value) + 1
    meaning.open.append(f"pull {pull} brought more than one record, and no field tells the peak from the others: each counts")


def _apart(
    rows: Sequence[PullRow], column: int, is_one: Callable[[PullRow], bool]
) -> tuple[list[str], list[str]] | None:
    """The words of a column in the rows of one sort and in the others, where none stands in both; else None."""
    one = list(dict.fromkeys(row.row[column].text for row in rows if is_one(row)))
    other = list(dict.fromkeys(row.row[column].text for row in rows if not is_one(row)))
    words = [*one, *other]
    is_told = one and other and len(words) <= 4 and len(set(words)) == len(words)
    return (one, other) if is_told and all(len(word) <= 12 and not _is_number(word) for word in words) else None


def _is_number(word: str) -> bool:
    return not word or (len(word) > 1 and word[:1] in "+-0123456789")


def _unit(torque: TextTorque, columns: dict[int, list[str]], meaning: Meaning) -> None:
    rows = torque.rows
    typed = list(dict.fromkeys(one.about.unit for one in rows if one.about and one.about.unit))
    beside = torque.beside
    if beside is not None:
        meaning.unit = beside
        if typed and typed != [beside]:
            meaning.lacks = f"the unit was typed as {' and '.join(typed)}, and behind the digits stands {beside}"
        return
    for column, texts in _free(columns, meaning):
        symbols = [symbol_of(text) for text in texts]
        if None in symbols:
            continue
        odd = next((one for one, its in zip(rows, symbols, strict=True) if _typed(one.about) not in (None, its)), None)
        if odd:
            meaning.lacks = f"pull {odd.pull + 1}: {odd.about} was typed, and field {column + 1} says {odd.row[column].text}"
            return
        meaning.name(column, "unit", f"always a unit ({', '.join(dict.fromkeys(texts))})")
        return
    if len(typed) > 1:
        for column, texts in _free(columns, meaning):
            codes = _codes([(text, _typed(one.about)) for text, one in zip(texts, rows, strict=True)])
            if codes:
                meaning.name(column, "unit", "it changed with the unit that was typed")
                meaning.lines.append("unit_codes: {" + ", ".join(f"{quoted(a)}: {quoted(b)}" for a, b in codes.items()) + "}")
                return
        meaning.lacks = f"the unit was typed as {' and '.join(typed)}, and no field tells one from the other"
    meaning.unit = typed[0] if len(typed) == 1 else None


def _typed(about: About | None) -> str | None:
    return about.unit if about else None


def _codes(pairs: Sequence[tuple[str, str | None]]) -> dict[str, str]:
    """What each code stands for, where each goes with one typed unit and each unit with one code; else nothing."""
    known = {(code, unit) for code, unit in pairs if unit is not None}
    codes = dict(known)
    is_told = len(codes) == len(known) == len(set(codes.values())) and all(code in codes for code, _ in pairs)
    return dict(sorted(codes.items())) if is_told else {}


def _counts(columns: dict[int, list[str]], meaning: Meaning) -> None:
    """A time, and a number that rises by one."""
    for column, texts in _free(columns, meaning):
        count = time_count([int(text) for text in texts] if all(map(_WHOLE.fullmatch, texts)) else [])
        if "tool_time" in meaning.names:
            break
        if all(map(_ISO.fullmatch, texts)):
            meaning.name(column, "tool_time", "ISO 8601")
        elif count:
            meaning.name(column, "tool_time", f"a count of {count} from 1970")
            meaning.lines.append(f"time_counts: {count}")
    for column, texts in _free(columns, meaning):
        if all(map(_WHOLE.fullmatch, texts)) and rises_by_one([int(text) for text in texts]):
            meaning.name(column, "sequence", f"it rises by one ({texts[0]} to {texts[-1]})")
            return


def rises_by_one(numbers: Sequence[int]) -> bool:
    """Whether each of at least three records is the next after the one before, or the same again."""
    steps = [after - before for before, after in pairwise(numbers)]
    return set(steps) <= {0, 1} and sum(steps) >= 2


def time_count(numbers: Sequence[int]) -> str:
    """`seconds` or `milliseconds` where these count a plausible time from 1970 that does not go back; else nothing."""
    low, high = _SECONDS
    if len(numbers) < 2 or any(after < before for before, after in pairwise(numbers)):
        return ""
    if all(low <= number < high for number in numbers):
        return "seconds"
    return "milliseconds" if all(1000 * low <= number < 1000 * high for number in numbers) else ""


def _constants(columns: dict[int, list[str]], meaning: Meaning) -> None:
    """What never changed: one tool's number, one word of a status; where two could be it, neither."""
    same = {column: texts[0] for column, texts in _free(columns, meaning) if len(set(texts)) == 1}
    numbers = [n for n, text in same.items() if _NUMBER_OF_A_TOOL.fullmatch(text)]
    words = [n for n, text in same.items() if _WORD.fullmatch(text)]
    if len(numbers) == 1:
        meaning.name(numbers[0], "serial", f"it is always {same.pop(numbers[0])}")
        meaning.open.append(f"field {numbers[0] + 1} is read as the serial number; where it is the name in the register, write "
                            "`wrench` in its place")  # fmt: skip
    if len(words) == 1:
        word = same.pop(words[0])
        meaning.name(words[0], "status", f"it is always {word}, which is taken for all is well")
        meaning.lines.append(f'status: {{{quoted(word)}: ""}}')
        meaning.open.append(f"field {words[0] + 1} is read as a status, of which only `{word}` was seen: add its other words")
    for column, text in same.items():
        what = "a unit's code, a status, a kind or a name; change one, and pull again"
        meaning.open.append(f"field {column + 1} is always `{text}` and is not read: it can be {what}")


def quoted(text: str) -> str:
    """A text as YAML writes it in double quotes."""
    escaped = text.replace("\\", "\\\\").replace('"', '\\"')
    return '"' + "".join(sign if sign.isprintable() else f"\\x{ord(sign):02X}" for sign in escaped) + '"'


def flow(words: Sequence[str]) -> str:
    """Texts as a YAML list on one line."""
    return f"[{', '.join(map(quoted, words))}]"
