"""Why a typed length was refused: how it was read, and what to type instead.

Each function makes one LengthNotUnderstood; the grammar raises it. `not_a_length` is asked last, about a
text that fits no rule at all, and goes through what people really type by mistake, most telling first.
"""

import re
from collections.abc import Callable
from decimal import Decimal
from typing import Final

from inventory.calc.errors import LengthNotUnderstood
from inventory.calc.length.units import DENOMINATORS, Unit

_QUOTED: Final = 40
_EXAMPLE: Final = {Unit.MM: "343", Unit.CM: "34.3", Unit.INCH: "13 1/2"}
_FINEST: Final = {Unit.MM: 6, Unit.CM: 7, Unit.INCH: 5}
_ENGLISH: Final = ("jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec")
_UNIT_WORD: Final = re.compile(r"mm|cm|m|in|inch|inches|ft|feet|foot|yd|[\"']|(?:milli|centi)met(?:er|re)s?")
_GERMAN: Final = {"mär": 3, "mrz": 3, "mai": 5, "okt": 10, "dez": 12}
_MONTHS: Final = {name: number for number, name in enumerate(_ENGLISH, start=1)} | _GERMAN
_DATE: Final = re.compile(
    r"(?P<a>[0-9]{1,4})(?P<mark>[./-])(?P<b>[0-9]{1,2})(?P=mark)(?P<c>[0-9]{1,4})(?:[ t][0-9:.]+)?z?"
)
_MONTH_DATE: Final = re.compile(
    rf"(?:(?P<before>[0-9]+)[ .-]*)?(?P<month>{'|'.join(_MONTHS)})[a-z]*\.?(?P<after>[ -].*|)"
)


def quoted(typed: str) -> str:
    """The text to show in a message: shortened, with signs that cannot be seen spelled out."""
    shown = typed if len(typed) <= _QUOTED else typed[: _QUOTED - 1] + "…"
    return "".join(sign if sign.isprintable() else f"<U+{ord(sign):04X}>" for sign in shown)


def too_long_a_text(typed: str) -> LengthNotUnderstood:
    return _refusal(typed, f"{len(typed)} signs, too many for one length", "one figure, such as 343 mm")


def too_long_a_length(typed: str, unit: Unit) -> LengthNotUnderstood:
    cure = f"a length up to 10 m; check the decimal point and the unit ({unit})"
    return _refusal(typed, "a length of more than 10 m", cure)


def too_fine(typed: str, unit: Unit) -> LengthNotUnderstood:
    cure = f"the figure with at most {_FINEST[unit]} decimals"
    return _refusal(typed, "a length finer than a millionth of a millimetre", cure)


def comma_or_thousands(typed: str, whole: str, part: str) -> LengthNotUnderstood:
    return _refusal(
        typed,
        f"either {whole}.{part} or {whole}{part}, because a comma before three digits can mean both",
        f"{whole}.{part} or {whole}{part}",
    )


def fraction_of_metric(text: str, typed: str, unit: Unit, *, typed_unit: Unit | None) -> LengthNotUnderstood:
    figure = re.sub("[ a-z.]+$", "", text)
    why = "" if typed_unit else ", the unit where none is typed"
    read_as = f"a fraction of {unit}{why}, but fractions belong to inches"
    return _refusal(typed, read_as, f"{figure} in if it was read in inches, or a decimal in {unit}")


def not_on_a_tape(typed: str, bottom: int) -> LengthNotUnderstood:
    known = ", ".join(str(d) for d in DENOMINATORS)
    return _refusal(
        typed,
        f"a fraction with {bottom} below the line, which no tape shows",
        f"a fraction with one of {known} below the line, or a decimal such as 13.3 in",
    )


def fraction_above_one(typed: str, whole: str | None, top: str, bottom: int) -> LengthNotUnderstood:
    """125/8 is more likely 12 5/8 with a lost space than 15 5/8, so neither is taken."""
    ones, rest = divmod(int(top), bottom)
    carried = int(whole or 0) + ones
    meanings = [f"{carried} {rest}/{bottom}" if rest else str(carried)]
    if whole is None and len(top) > 1 and 0 < int(top[-1]) < bottom:
        meanings.insert(0, f"{top[:-1]} {top[-1]}/{bottom}")
    return _refusal(typed, f"a fraction that is not below one, {top}/{bottom}", " or ".join(meanings))


def inches_beyond_a_foot(typed: str) -> LengthNotUnderstood:
    return _refusal(
        typed, "feet with 12 or more inches after them", "the whole length in inches, such as 26 in"
    )


def two_units(typed: str) -> LengthNotUnderstood:
    return _refusal(typed, "one length with two units", "the figure with one unit, such as 343 mm")


def not_a_length(text: str, typed: str, unit: Unit) -> LengthNotUnderstood:
    """The refusal for a text that fits no rule; `text` is the plain form of `typed`."""
    example = _EXAMPLE[unit]
    for explain in _EXPLANATIONS:
        if found := explain(text, example):
            return _refusal(typed, *found)
    return _refusal(typed, "something other than a length", f"one figure, such as {example} or 34.3 cm")


def _refusal(typed: str, read_as: str, cure: str) -> LengthNotUnderstood:
    return LengthNotUnderstood(quoted(typed), read_as, cure)


def _nothing(text: str, example: str) -> tuple[str, str] | None:
    return ("nothing", f"the figure read off the tape, such as {example}") if not text else None


def _invisible(text: str, example: str) -> tuple[str, str] | None:
    hidden = next((sign for sign in text if not sign.isprintable()), None)
    if hidden is None:
        return None
    return (
        f"a text with an invisible sign in it (U+{ord(hidden):04X})",
        f"it again by hand, such as {example}",
    )


def _signed(text: str, example: str) -> tuple[str, str] | None:
    if text[0] == "±":
        both = text[1:].strip() or example
        return "an allowance to both sides", f"the plus side and the minus side separately, {both} for each"
    if text[0] not in "+-−\u2014":
        return None
    rest = text[1:].strip()
    return "a signed figure, and a length has no sign", f"{rest or example} without the sign"


def _scientific(text: str, example: str) -> tuple[str, str] | None:
    if re.match(r"[0-9][0-9.,]*e[+−-]?[0-9]", text):
        return "a power of ten", f"the figure written out, such as {example}"
    if re.match(r"(?:nan|inf|infinity|none|null|n/a|n\.a\.|#.*|true|false)\b", text):
        return "a word, not a figure", f"the figure read off the tape, such as {example}, or leave it empty"
    return None


def _date(text: str, _example: str) -> tuple[str, str] | None:
    """Spreadsheets turn 3/8 into the third of August or the eighth of March; both say 3 and 8."""
    if match := _DATE.fullmatch(text):
        parts = [int(part) for part in match.group("a", "b", "c") if len(part) <= 2]
    elif match := _MONTH_DATE.fullmatch(text):
        day = match["before"] or re.sub("[^0-9].*", "", match["after"].lstrip(" -"))
        parts = [_MONTHS[match["month"]], int(day or 0)]
    else:
        return None
    small, large = sorted(parts[:2]) if len(parts) > 1 else (0, 0)
    fraction = f"{small}/{large} in" if 0 < small < large and large in DENOMINATORS else "3/8 in"
    return "a date", f"the fraction as text, such as {fraction}, in a cell formatted as text"


def _separators(text: str, _example: str) -> tuple[str, str] | None:
    match = re.fullmatch(r"([0-9]+(?:[.,'][0-9]+){2,}) ?([a-z\"]*)\.?", text)
    if match is None:
        return None
    groups, marks = re.split("[.,']", match[1]), re.findall("[.,']", match[1])
    unit = f" {match[2]}" if match[2] else ""
    cures = [f"{''.join(groups[:-1])}.{groups[-1]}{unit}"]
    if marks[-1] in marks[:-1]:
        cures.append("".join(groups) + unit)
    return "a figure with more than one point or comma", f"{' or '.join(cures)}, without thousands marks"


def _unfinished(text: str, example: str) -> tuple[str, str] | None:
    if match := re.fullmatch(r"([0-9]+)[.,/-] ?([a-z\"]*)", text):
        return (
            "a figure that stops in the middle",
            f"{match[1]} {match[2]}".strip() + f", or all of it, such as {example}",
        )
    return None


def _two_figures(text: str, example: str) -> tuple[str, str] | None:
    if match := re.fullmatch(r"([0-9]+) ([0-9]+)( ?[a-z\"]+\.?)?", text):
        first, second, unit = match[1], match[2], match[3] or ""
        if len(first + second) > 4:
            return f"two figures, {first} and {second}", f"one of the two, or {first}.{second}{unit}"
        return f"two figures, {first} and {second}", f"{first}.{second}{unit} or {first}{second}{unit}"
    if re.fullmatch(r"[0-9]+[.,][0-9]+[ -][0-9]+ ?/ ?[0-9]+.*", text):
        return "a decimal and a fraction at once", "one of the two, such as 13.5 in or 13 1/2 in"
    if match := re.fullmatch(r"([0-9]+) ?(?:\"|in|inch|inches) ?([0-9]+ ?/ ?[0-9]+)[^0-9]*", text):
        return "inches with a fraction after the unit", f"{match[1]} {match[2]} in"
    if re.fullmatch(r"[0-9]+ ?(?:-|to|x|×|\*) ?[0-9].*", text):
        return "two figures, a range or a sum", f"one figure, such as {example}"
    return None


def _units(text: str, example: str) -> tuple[str, str] | None:
    units = re.findall(r"[a-zµ]+|[\"']", text)
    figures = re.findall(r"[0-9]+", text)
    if len(units) > 1 and figures and all(map(_UNIT_WORD.fullmatch, units)):
        return "one length with two units", "the figure with one unit, such as 343 mm"
    if not figures and units:
        return "a text without a figure", f"the figure read off the tape, such as {example}"
    if len(units) == 1 and units[0] in ("'", "ft", "feet", "foot"):
        return "feet that are not a whole number", "the whole length in inches, such as 18 in"
    if match := re.fullmatch(r"([0-9]*)[.,]?([0-9]*) ?m", text):
        return (
            "a figure in metres",
            f"it in cm, {(Decimal(f'0{match[1]}.{match[2]}0') * 100).normalize():f} cm",
        )
    if match := re.fullmatch(r"([0-9.,/ ]*[0-9]) ?([^0-9.,/ ]+)", text):
        figure = match[1]
        cure = f"{figure} mm, {figure} cm or {figure} in, whichever was read"
        return f'a figure in "{match[2]}", which is not mm, cm or inch', cure
    return None


def _other_digits(text: str, example: str) -> tuple[str, str] | None:
    if any(sign.isdigit() and not sign.isascii() for sign in text):
        return "a figure in digits this tool does not read", f"it with the digits 0 to 9, such as {example}"
    return None


_EXPLANATIONS: Final[tuple[Callable[[str, str], tuple[str, str] | None], ...]] = (
    _nothing,
    _invisible,
    _signed,
    _scientific,
    _date,
    _separators,
    _unfinished,
    _two_figures,
    _other_digits,
    _units,
)
