"""A bench to try the slip guard on: specs, pieces of them, and people who slip in every known way.

Everything is drawn from a seeded generator. A piece's true lengths lie around the nominals with a spread
of 4 mm; its two sides, cut from one pattern in one lay, lie 2.5 mm apart (common practice, no source: pairs
are accepted up to 3 mm at lengths and 5 to 6 mm at half girths). A person reads them to the millimetre, to
0.1 cm or to 1/8 inch, and slips at one point. What a slip does to the typed text is written here once more
from its description, not taken from the guard.
"""

import random
from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from fractions import Fraction
from functools import cache
from itertools import pairwise
from math import sqrt

from inventory.calc.errors import LengthNotUnderstood
from inventory.calc.length import Parsed, Unit, parse
from inventory.calc.plan import PointPlan, Side
from inventory.calc.slips import SlipKind
from inventory.calc.uncertainty import ReadingError

MM = 1_000_000
INCH = 25_400_000
ANY_KIND = ("half", "full", "length")
SPREAD_NM = 4 * MM
PAIR_SPREAD_NM = 5 * MM // 2
_ONE_SIDE_NM = PAIR_SPREAD_NM / sqrt(2)
_BOTH_SIDES_NM = sqrt(SPREAD_NM**2 - _ONE_SIDE_NM**2)
LEAST_SLIP_NM = MM // 4
"""12.38 for 12 3/8 is no slip but rounding, and a fraction typed as digits is none when there is none."""
SIZES = ("18", "20", "22", "24", "26", "28", "30")

# code, kind, half-inches (of size 24 as read), eighths of an inch per size, sixteenths of tolerance, and
# the usual spread of one and of two people in tenths of a millimetre; a laced garment, common practice.
_LACED = (
    ("UB", "half", 28, 8, 4, 20, 25),
    ("WA", "half", 24, 8, 4, 15, 20),
    ("HH", "half", 32, 8, 5, 20, 25),
    ("LE", "half", 35, 8, 6, 20, 30),
    ("CF", "length", 25, 1, 4, 10, 10),
    ("CB", "length", 23, 1, 4, 10, 10),
    ("SS", "length", 19, 1, 4, 10, 10),
    ("WF", "length", 9, 0, 3, 10, 10),
    ("TH", "full", 53, 16, 8, 20, 25),
)

Readings = dict[tuple[str, Side], int]


@cache
def spec_in(unit: Unit) -> dict[str, dict[str, PointPlan]]:
    """A spec as a maker writes it in that unit: inch figures to 1/16, metric ones to the millimetre."""

    def nm(sixteenths: int) -> int:
        exact = Fraction(sixteenths * INCH, 16)
        return int(exact) if unit is Unit.INCH else round(exact / MM) * MM

    return {
        size: {
            code: PointPlan(
                code=code,
                kind="half" if kind == "half" else "full" if kind == "full" else "length",
                paired=kind != "full",
                nominal_nm=nm(half_inches * 8 + (place - 3) * step * 2),
                minus_nm=nm(tolerance),
                plus_nm=nm(tolerance),
                basis="half",
                pair_limit=None,
                error=ReadingError.from_planning(one * MM // 10, two * MM // 10),
            )
            for code, kind, half_inches, step, tolerance, one, two in _LACED
        }
        for place, size in enumerate(SIZES)
    }


@dataclass(frozen=True)
class Moment:
    """One reading about to be taken: the piece's true lengths, what was read before, and what is next."""

    rng: random.Random
    unit: Unit
    size: str
    spec: Mapping[str, Mapping[str, PointPlan]]
    true_nm: Readings
    taken: Readings
    code: str
    side: Side

    @property
    def plan(self) -> PointPlan:
        return self.spec[self.size][self.code]

    @property
    def here_nm(self) -> int:
        return self.true_nm[self.code, self.side]

    def read(self, nm: int) -> str:
        """A length as this person types it."""
        return as_typed(nm, self.unit)


def moment(rng: random.Random, unit: Unit, *, kinds: tuple[str, ...] = ANY_KIND, shift_nm: int = 0) -> Moment:
    """A random piece, part of the way through its walk (all left, then all right), at a point of a kind.

    shift_nm: how much larger the maker cuts every piece of the batch.
    """
    spec = spec_in(unit)
    size = rng.choice(SIZES[1:-1])
    true_nm = {key: nm + shift_nm for key, nm in _piece(rng, spec[size]).items()}
    walk = list(true_nm)
    place = rng.choice([place for place, (code, _) in enumerate(walk) if spec[size][code].kind in kinds])
    taken = {key: parse(as_typed(true_nm[key], unit), unit=unit).nm for key in walk[:place]}
    code, side = walk[place]
    return Moment(rng, unit, size, spec, true_nm, taken, code, side)


def _piece(rng: random.Random, plans: Mapping[str, PointPlan]) -> Readings:
    left, right = {}, {}
    for code, plan in plans.items():
        both_nm = rng.gauss(0, _BOTH_SIDES_NM)
        left[code, plan.sides[0]] = round(plan.nominal_nm + both_nm + rng.gauss(0, _ONE_SIDE_NM))
        if plan.paired:
            right[code, plan.sides[1]] = round(plan.nominal_nm + both_nm + rng.gauss(0, _ONE_SIDE_NM))
    return left | right


def as_typed(nm: int, unit: Unit) -> str:
    """To the millimetre, to 0.1 cm, or to 1/8 inch as a fraction."""
    if unit is Unit.MM:
        return str(round(nm / MM))
    if unit is Unit.CM:
        return f"{round(nm / MM) / 10:.1f}"
    whole, eighths = divmod(round(nm * 8 / INCH), 8)
    return f"{whole} {Fraction(eighths, 8)}" if eighths else str(whole)


def _inches(nm: int) -> str:
    return f"{round(nm * 8 / INCH) / 8:g}"


def _start_at(extra_nm: int) -> Callable[[Moment], str]:
    return lambda at: at.read(at.here_nm + extra_nm)


def _tens(at: Moment) -> str:
    if at.unit is Unit.INCH:
        return at.read(at.here_nm + at.rng.choice((-INCH, 10 * INCH, -10 * INCH)))
    return at.read(at.here_nm + at.rng.choice((-20, -10, -10, 10, 10, 20)) * MM)


def _decimal_point(at: Moment) -> str:
    if at.unit is Unit.MM:
        return f"{at.read(at.here_nm)}0"
    figure = at.read(at.here_nm) if at.unit is Unit.CM else _inches(at.here_nm)
    if at.unit is Unit.INCH and at.rng.random() < 0.5:
        return figure.replace(".", "")
    whole, _, part = figure.partition(".")
    return f"{whole[:-1] or '0'}.{whole[-1]}{part}"


def _swapped(at: Moment) -> str:
    typed = at.read(at.here_nm)
    figures = [place for place, sign in enumerate(typed.partition(" ")[0]) if sign.isdigit()]
    pairs = [(a, b) for a, b in pairwise(figures) if typed[a] != typed[b]]
    if not pairs:
        return typed
    a, b = at.rng.choice(pairs)
    signs = list(typed)
    signs[a], signs[b] = signs[b], signs[a]
    return "".join(signs)


def _neighbour_point(at: Moment) -> str:
    """The figure of the row above or below on the same side."""
    rows = [code for code, side in at.true_nm if side == at.side]
    place = rows.index(at.code)
    beside = rows[max(place - 1, 0) : place] + rows[place + 1 : place + 2]
    return at.read(at.true_nm[at.rng.choice(beside), at.side]) if beside else at.read(at.here_nm)


def _fraction_digits(at: Moment) -> str:
    return at.read(at.here_nm).replace("/", "").replace(" ", ".")


WAYS: Mapping[SlipKind, tuple[tuple[Unit, ...], Callable[[Moment], str]]] = {
    SlipKind.FULL_FOR_HALF: (tuple(Unit), lambda at: at.read(2 * at.here_nm)),
    SlipKind.HALF_FOR_FULL: (tuple(Unit), lambda at: at.read(at.here_nm // 2)),
    SlipKind.INCH_FOR_CM: ((Unit.CM,), lambda at: _inches(at.here_nm)),
    SlipKind.INCH_FOR_MM: ((Unit.MM,), lambda at: _inches(at.here_nm)),
    SlipKind.CM_FOR_INCH: ((Unit.INCH,), lambda at: as_typed(at.here_nm, Unit.CM)),
    SlipKind.CM_FOR_MM: ((Unit.MM,), lambda at: as_typed(at.here_nm, Unit.CM)),
    SlipKind.MM_FOR_INCH: ((Unit.INCH,), lambda at: as_typed(at.here_nm, Unit.MM)),
    SlipKind.MM_FOR_CM: ((Unit.CM,), lambda at: as_typed(at.here_nm, Unit.MM)),
    SlipKind.DECIMAL_POINT: (tuple(Unit), _decimal_point),
    SlipKind.FRACTION_AS_DECIMALS: ((Unit.INCH,), _fraction_digits),
    SlipKind.START_MARK_INCH: (tuple(Unit), _start_at(INCH)),
    SlipKind.START_MARK_10CM: ((Unit.MM, Unit.CM), _start_at(100 * MM)),
    SlipKind.TENS: (tuple(Unit), _tens),
    SlipKind.SWAPPED_DIGITS: (tuple(Unit), _swapped),
    SlipKind.NEIGHBOUR_POINT: (tuple(Unit), _neighbour_point),
    SlipKind.NEIGHBOUR_SIZE: (tuple(Unit), lambda at: at.read(at.here_nm)),
}


KINDS: Mapping[SlipKind, tuple[str, ...]] = {
    SlipKind.FULL_FOR_HALF: ("half",),
    SlipKind.HALF_FOR_FULL: ("full",),
}


def slipped(
    rng: random.Random, slip: SlipKind, unit: Unit, *, shift_nm: int = 0
) -> tuple[Moment, Parsed] | None:
    """A moment at which this slip was made, and the reading typed; None if nothing readable came of it."""
    at = moment(rng, unit, kinds=KINDS.get(slip, ANY_KIND), shift_nm=shift_nm)
    if slip is SlipKind.NEIGHBOUR_SIZE:
        # The piece is of the next size: everything read on it was, too.
        place = SIZES.index(at.size)
        at = replace(at, size=SIZES[place + rng.choice((-1, 1))])
    try:
        reading = parse(WAYS[slip][1](at), unit=unit)
    except LengthNotUnderstood:
        return None
    changed_nm = abs(reading.nm - parse(at.read(at.here_nm), unit=unit).nm)
    return None if changed_nm < LEAST_SLIP_NM and slip is not SlipKind.NEIGHBOUR_SIZE else (at, reading)
