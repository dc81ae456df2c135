"""Decides a number of a log by what is known of the file's decimal mark. Pure."""

from collector.decode.refuse import set_aside, shown
from schemas.log_number import Forms, number_forms
from schemas.log_rows import DecimalRule


def decided(name: str, text: str, rule: DecimalRule) -> str:
    """The plain digits of a number; `text` as it is where it is no number at all, which its meaning tells.

    A number that only one mark fits stands for itself, unless the other one was declared. FrameError `set aside`, with both
    readings, where both fit and the file does not settle it.
    """
    forms = number_forms(text)
    if forms is None:
        return text
    read = _read(text, forms, rule)
    if read is not None:
        return read
    if forms.point is None and forms.comma is None:
        return text
    raise set_aside(_why(name, text, forms, rule))


def _read(text: str, forms: Forms, rule: DecimalRule) -> str | None:
    if rule.is_declared:
        return forms.point if rule.mark == "." else forms.comma
    if not forms.is_open:
        return forms.point if forms.comma is None else forms.comma
    # A point between three digits in a file of decimal commas may be a group or a slip of another program.
    if rule.mark is None or rule.mark not in text:
        return None
    return forms.point if rule.mark == "." else forms.comma


def _why(name: str, text: str, forms: Forms, rule: DecimalRule) -> str:
    if rule.is_declared:
        other = forms.point if rule.mark == "," else forms.comma
        return f"{name} `{shown(text)}` reads as {other} only by the other mark than the declared `{rule.mark}`; look at this row"
    known = f"the other rows have the decimal mark `{rule.mark}`" if rule.mark else "no row of the file proves its decimal mark"
    return f"{name} `{shown(text)}` can be {forms.point} or {forms.comma}, and {known}; declare it with --decimal"
