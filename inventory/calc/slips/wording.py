"""The guard's questions: plain words for a person with both hands on a garment.

First what was typed, then what was expected, then one question to be answered with yes or no. What was
typed is quoted as typed; everything else is shown in the shop's own unit. Where people measure blind the
question names the slip alone: a figure in it would be read off the screen the second time, not off the tape.
"""

from collections.abc import Callable, Mapping
from typing import Final, NamedTuple, Protocol

from inventory.calc.length import Display, Parsed, Unit, show, show_exact
from inventory.calc.slips.kinds import Expected, SlipKind

_UNIT_WORDS: Final = {Unit.MM: "millimetres", Unit.CM: "centimetres", Unit.INCH: "inches"}
_REALLY: Final = {
    SlipKind.INCH_FOR_CM: Unit.INCH,
    SlipKind.INCH_FOR_MM: Unit.INCH,
    SlipKind.CM_FOR_INCH: Unit.CM,
    SlipKind.CM_FOR_MM: Unit.CM,
    SlipKind.MM_FOR_INCH: Unit.MM,
    SlipKind.MM_FOR_CM: Unit.MM,
}


class Neighbour(Protocol):
    """Whose figure the reading fits: its name and what it should read."""

    @property
    def name(self) -> str: ...

    @property
    def fits(self) -> Expected: ...


class _Words(NamedTuple):
    """The figures of a question, ready to be put in."""

    slip: SlipKind
    typed: str
    figure: str
    large_figures: str
    nominal: str
    suggestion: str
    name: str
    fits: str


def question(
    slip: SlipKind,
    reading: Parsed,
    expected: Expected,
    display: Display,
    *,
    suggestion_nm: int | None = None,
    fits: Neighbour | None = None,
    blind: bool = False,
) -> str:
    """The question for one slip, in the unit of the shop; `blind`: without any figure but the typed one."""
    typed = reading.typed.strip()
    words = _Words(
        slip=slip,
        typed=typed if reading.unit_was_typed else f"{typed} {reading.unit}",
        figure=show_exact(reading.nm, unit=reading.unit).rpartition(" ")[0],
        large_figures="inches" if reading.unit == Unit.INCH else "tens",
        nominal=show(expected.nominal_nm, display),
        suggestion="" if suggestion_nm is None else show(suggestion_nm, display),
        name=fits.name if fits else "",
        fits=show(fits.fits.nominal_nm, display) if fits else "",
    )
    return f"Typed {words.typed}{(_BLIND_ENDINGS if blind else _ENDINGS)[slip](words)}"


def _in_another_unit(words: _Words) -> str:
    really = _UNIT_WORDS[_REALLY[words.slip]]
    return f", but about {words.nominal} is expected. Was it {words.figure} {really}, so {words.suggestion}?"


def _in_another_unit_blind(words: _Words) -> str:
    return f". Was it {words.figure} {_UNIT_WORDS[_REALLY[words.slip]]}?"


def _sides(words: _Words) -> str:
    here = f", and {words.suggestion} belongs here" if words.suggestion else ""
    return f", but {words.nominal} is expected on this side. Are left and right swapped{here}?"


_ENDINGS: Final[Mapping[SlipKind, Callable[[_Words], str]]] = {
    SlipKind.FULL_FOR_HALF: lambda w: (
        f", but the half is specified at {w.nominal}. Is this the full girth, and the half {w.suggestion}?"
    ),
    SlipKind.HALF_FOR_FULL: lambda w: (
        f", but the full girth is specified at {w.nominal}. Is this the half, and the full {w.suggestion}?"
    ),
    **dict.fromkeys(_REALLY, _in_another_unit),
    SlipKind.DECIMAL_POINT: lambda w: (
        f", but about {w.nominal} is expected. Is the decimal point in the wrong place, is it {w.suggestion}?"
    ),
    SlipKind.FRACTION_AS_DECIMALS: lambda w: f". Did the tape show {w.suggestion}?",
    SlipKind.START_MARK_INCH: lambda w: (
        f", an inch over the {w.nominal} expected. Did the tape start at 1 inch, is it {w.suggestion}?"
    ),
    SlipKind.START_MARK_10CM: lambda w: (
        f", 10 cm over the {w.nominal} expected. Did the tape start at 10 cm, is it {w.suggestion}?"
    ),
    SlipKind.TENS: lambda w: (
        f", but {w.nominal} is expected. Look at the {w.large_figures} again: is it {w.suggestion}?"
    ),
    SlipKind.SWAPPED_DIGITS: lambda w: (
        f", but {w.nominal} is expected. Are two figures swapped, is it {w.suggestion}?"
    ),
    SlipKind.NEIGHBOUR_POINT: lambda w: (
        f", but {w.nominal} is expected here. It fits {w.name} ({w.fits}). Is this the right point?"
    ),
    SlipKind.NEIGHBOUR_SIZE: lambda w: (
        f", but {w.nominal} is expected here. It fits size {w.name} ({w.fits}). Is the size label right?"
    ),
    SlipKind.SIDES_SWAPPED: _sides,
    SlipKind.NOTHING_READ: lambda w: f", but {w.nominal} is expected. Was this point read at all?",
    SlipKind.FAR_OFF: lambda w: f", very far off the {w.nominal} expected. Read it again?",
    SlipKind.REPEATS_DISAGREE: lambda w: (
        f", {w.suggestion} from what was read here before, more than careful readings differ. Read it again?"
    ),
}

_BLIND_ENDINGS: Final[Mapping[SlipKind, Callable[[_Words], str]]] = {
    SlipKind.FULL_FOR_HALF: lambda _: ". Is this the full girth, typed for one half?",
    SlipKind.HALF_FOR_FULL: lambda _: ". Is this one half, typed for the full girth?",
    **dict.fromkeys(_REALLY, _in_another_unit_blind),
    SlipKind.DECIMAL_POINT: lambda _: ". Is the decimal point in the right place?",
    # Read off the typed text alone, whatever the spec asks for.
    SlipKind.FRACTION_AS_DECIMALS: lambda w: f". Did the tape show {w.suggestion}?",
    SlipKind.START_MARK_INCH: lambda _: ". Did the tape start at the 1 inch mark?",
    SlipKind.START_MARK_10CM: lambda _: ". Did the tape start at the 10 cm mark?",
    SlipKind.TENS: lambda w: f". Look at the {w.large_figures} again: were they read right?",
    SlipKind.SWAPPED_DIGITS: lambda _: ". Are two figures swapped?",
    SlipKind.NEIGHBOUR_POINT: lambda w: f". It looks more like {w.name}. Is this the right point?",
    SlipKind.NEIGHBOUR_SIZE: lambda w: f". It looks more like size {w.name}. Is the size label right?",
    SlipKind.SIDES_SWAPPED: lambda _: ". Are left and right swapped?",
    SlipKind.NOTHING_READ: lambda _: ". Was this point read at all?",
    SlipKind.FAR_OFF: lambda _: ". That is very far off. Read it again?",
    SlipKind.REPEATS_DISAGREE: lambda _: (
        ". It differs from what was read here before by more than careful readings do. Read it again?"
    ),
}
