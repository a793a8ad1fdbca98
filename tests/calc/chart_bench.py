"""A bench to try the look along a chart on: honest graded charts, and one wrong figure in each known way.

Everything is drawn from a seeded generator. Steps are those of laced garments: 2 in or 1 in of waist a size,
25 mm or half an inch per half, wider from a size break on; lengths 3 to 6 mm a size, every other size, or not
at all (common practice, no source). Charts are written to the millimetre, to 5 mm, to 0.1 cm, or to a
quarter, an eighth or a sixteenth of an inch; cells are missing here and there. What a slip does to the typed
text is written here from its description, not taken from the code under test.
"""

import random
from collections.abc import Callable
from dataclasses import dataclass, replace
from fractions import Fraction
from itertools import accumulate
from typing import Literal

from inventory.calc.errors import LengthNotUnderstood
from inventory.calc.length import Unit, parse
from inventory.calc.slips import SlipKind
from inventory.calc.slips.charts import ChartRow, Figure, places_of

MM = Fraction(1)
INCH = Fraction(127, 5)
Kind = Literal["half", "full", "length"]

_RUNS = (
    ["18", "20", "22", "24", "26", "28", "30", "32", "34", "36"],
    ["20", "22", "24", "26", "28", "30"],
    ["22", "24", "26", "28", "32"],
    ["S", "M", "L"],
    ["XS", "S", "M", "L", "XL", "2XL"],
    ["36", "38", "40", "42", "44", "46", "48"],
    ["24", "26"],
)
_GRIDS = {
    Unit.MM: (MM, MM, 5 * MM),
    Unit.CM: (MM, 5 * MM),
    Unit.INCH: (INCH / 16, INCH / 8, INCH / 4),
}
# kind, smallest and largest first figure (mm), steps (mm), how a step may grow from a break on
_POINTS: tuple[tuple[Kind, int, int, tuple[Fraction, ...], tuple[Fraction, ...]], ...] = (
    ("half", 200, 340, (INCH, 25 * MM, 20 * MM, INCH / 2), (Fraction(1), Fraction(5, 4), Fraction(3, 2))),
    ("full", 450, 700, (2 * INCH, 50 * MM, 40 * MM), (Fraction(1), Fraction(5, 4))),
    ("length", 120, 420, (3 * MM, 5 * MM, 6 * MM, INCH / 4), (Fraction(1), Fraction(1, 2), Fraction(2))),
    ("length", 60, 420, (Fraction(0),), (Fraction(1),)),
)


def honest_chart(rnd: random.Random, *, points: int) -> list[ChartRow]:
    """The rows of a chart in one unit, all sizes the same and written equally finely."""
    unit = rnd.choice(list(Unit))
    labels = rnd.choice(_RUNS)
    grid = rnd.choice(_GRIDS[unit])
    return [_row(rnd, f"P{at}", unit, labels, grid) for at in range(points)]


def _row(rnd: random.Random, code: str, unit: Unit, labels: list[str], grid: Fraction) -> ChartRow:
    kind, low, high, steps, growths = rnd.choice(_POINTS)
    step, growth = rnd.choice(steps), rnd.choice(growths)
    places = places_of(labels)
    run = int(max(places.values())) + 1
    breaks_at = rnd.randint(1, run)
    rises = [step if place < breaks_at else step * growth for place in range(run - 1)]
    if kind == "length" and rnd.random() < 0.15:  # only every other size is longer
        rises = [step if place % 2 else Fraction(0) for place in range(run - 1)]
    exact = list(accumulate(rises, initial=Fraction(rnd.randint(low, high))))
    figures, at = [], []
    for label in labels:
        if len(labels) > 4 and rnd.random() < 0.04:
            continue
        length = round(exact[int(places[label])] / grid) * grid
        figures.append(Figure(label, parse(written(length, unit), unit=unit)))
        at.append(places[label])
    stated = int(step * 1_000_000) if growth == 1 and len(set(rises)) == 1 and rnd.random() < 0.5 else None
    return ChartRow(code, kind, figures, at, stated)


def written(mm: Fraction, unit: Unit) -> str:
    """A length as charts have it: 290, 29 or 29.5, 11 3/8."""
    if unit is Unit.MM:
        return f"{round(mm)}"
    if unit is Unit.CM:
        return f"{float(mm / 10):.1f}".removesuffix(".0")
    sixteenths = round(mm / INCH * 16)
    whole, part = divmod(sixteenths, 16)
    return f"{whole} {Fraction(part, 16)}" if part else f"{whole}"


def _decimals(mm: Fraction, unit: Unit) -> str:
    """A length in a unit its sheet is not in: inches as decimals, as a metric box wants them."""
    return f"{float(mm / INCH):.2f}".rstrip("0").rstrip(".") if unit is Unit.INCH else written(mm, unit)


def _of(figure: Figure) -> Fraction:
    return Fraction(figure.nm, 1_000_000)


def _another_unit(unit: Unit, other: Unit) -> Callable[[random.Random, Figure], str | None]:
    return lambda _, figure: _decimals(_of(figure), other) if figure.typed.unit is unit else None


def _times(factor: Fraction) -> Callable[[random.Random, Figure], str]:
    return lambda _, figure: written(_of(figure) * factor, figure.typed.unit)


def _more(mm: Fraction) -> Callable[[random.Random, Figure], str]:
    return lambda _, figure: written(_of(figure) + mm, figure.typed.unit)


def _swapped(rnd: random.Random, figure: Figure) -> str | None:
    text = figure.typed.typed.split(" ")[0]
    rest = figure.typed.typed[len(text) :]
    pairs = [at for at in range(len(text) - 1) if text[at : at + 2].isdigit() and text[at] != text[at + 1]]
    if not pairs:
        return None
    at = rnd.choice(pairs)
    return f"{text[:at]}{text[at + 1]}{text[at]}{text[at + 2 :]}{rest}"


def _fraction(_: random.Random, figure: Figure) -> str | None:
    if "/" not in figure.typed.typed or figure.typed.typed.endswith(" 3/8"):  # .38 is honest rounding of 3/8
        return None
    return figure.typed.typed.replace(" ", ".").replace("/", "")


SLIPS: dict[SlipKind, Callable[[random.Random, Figure], str | None]] = {
    SlipKind.CM_FOR_MM: _another_unit(Unit.MM, Unit.CM),
    SlipKind.INCH_FOR_MM: _another_unit(Unit.MM, Unit.INCH),
    SlipKind.INCH_FOR_CM: _another_unit(Unit.CM, Unit.INCH),
    SlipKind.MM_FOR_CM: _another_unit(Unit.CM, Unit.MM),
    SlipKind.CM_FOR_INCH: _another_unit(Unit.INCH, Unit.CM),
    SlipKind.MM_FOR_INCH: _another_unit(Unit.INCH, Unit.MM),
    SlipKind.FULL_FOR_HALF: _times(Fraction(2)),
    SlipKind.HALF_FOR_FULL: _times(Fraction(1, 2)),
    SlipKind.START_MARK_INCH: _more(INCH),
    SlipKind.START_MARK_10CM: _more(100 * MM),
    SlipKind.SWAPPED_DIGITS: _swapped,
    SlipKind.FRACTION_AS_DECIMALS: _fraction,
}
_OF_KIND = {SlipKind.FULL_FOR_HALF: "half", SlipKind.HALF_FOR_FULL: "full"}


@dataclass(frozen=True)
class Slipped:
    """A row with one wrong figure: of which size, and what it was."""

    row: ChartRow
    size: str
    true_nm: int


def slipped(rnd: random.Random, kind: SlipKind, *, least_sizes: int) -> Slipped:
    """A row of an honest chart of at least so many sizes, one random figure of it typed wrong in one way."""
    while True:
        (row,) = honest_chart(rnd, points=1)
        if len(row.figures) < least_sizes or _OF_KIND.get(kind, row.kind) != row.kind:
            continue
        at = rnd.randrange(len(row.figures))
        figure = row.figures[at]
        text = SLIPS[kind](rnd, figure)
        if text is None:
            continue
        try:
            typed = parse(text, unit=figure.typed.unit)
        except LengthNotUnderstood:  # told as an error before anything is compared
            continue
        if typed.nm == figure.nm:
            continue
        figures = [*row.figures[:at], replace(figure, typed=typed), *row.figures[at + 1 :]]
        return Slipped(replace(row, figures=figures), figure.size, figure.nm)
