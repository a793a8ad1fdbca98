"""What a reading might have been, had it not been for one slip.

A guess names the slip, the length it would really be, whose limits that length has to fit, and a weight:
how often the slip happens compared with the others, times how much of that slip this very case is. The
weights are planning values (common practice, no source), 1 for a usual slip.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Final, NamedTuple

from inventory.calc.length import NM_PER_MM, Parsed, Unit, nm_per_unit
from inventory.calc.slips.digits import fraction_behind_decimals, swapped_digits
from inventory.calc.slips.kinds import Expected, PointKind, SlipKind
from inventory.calc.slips.usual import Usual

_INCH: Final = 25_400_000

_UNIT_SLIPS: Final = {
    # typed as -> the slip and the unit it was really read in
    Unit.MM: ((SlipKind.CM_FOR_MM, Unit.CM), (SlipKind.INCH_FOR_MM, Unit.INCH)),
    Unit.CM: ((SlipKind.INCH_FOR_CM, Unit.INCH), (SlipKind.MM_FOR_CM, Unit.MM)),
    Unit.INCH: ((SlipKind.CM_FOR_INCH, Unit.CM), (SlipKind.MM_FOR_INCH, Unit.MM)),
}

_TENS_IN_MM: Final = tuple(
    (sign * tens_mm * NM_PER_MM, share) for tens_mm, share in ((10, 0.35), (20, 0.15)) for sign in (1, -1)
)
# One inch too many is the start mark; one too few, and ten either way, is a misread figure.
_TENS_IN_INCHES: Final = ((_INCH, 0.4), (10 * _INCH, 0.3), (-10 * _INCH, 0.3))

SAME_READING_NM: Final = 3 * NM_PER_MM
"""Two readings of the same thing this close confirm each other (common practice, no source)."""

# A slip far from the limits is plain even if the piece is somewhat out; one of 10 mm is not.
_FAR: Final = 2.0
_NEAR: Final = 1.25


@dataclass(frozen=True, slots=True)
class Situation:
    """A reading and everything known around it; see `look_for_slips` for the meaning of each."""

    reading: Parsed
    expected: Expected
    usual: Usual
    kind: PointKind
    neighbours: Mapping[str, Expected]
    neighbour_sizes: Mapping[str, Expected]
    size_votes: Mapping[str, int]
    earlier_nm: Sequence[int]
    other_side_nm: int | None
    other_side_expected: Expected | None


class Guess(NamedTuple):
    """One slip that may have happened, and what has to fit for it to be likely.

    `fits_nm` is the length behind the slip and `fits` what it has to fit, within `reach` times its
    limits; `steepness` is how fast that length follows the reading; `suggestion_nm` is what the reading of
    this very point would be, if that can be known; `name` the neighbour it fits; `is_in_the_text` that the
    typed text itself gives the slip away, so that it need not fit better than the reading does.
    """

    kind: SlipKind
    fits_nm: int
    fits: Expected
    weight: float
    reach: float
    steepness: float = 1.0
    suggestion_nm: int | None = None
    name: str = ""
    is_in_the_text: bool = False


def guesses(at: Situation) -> Iterator[Guess]:
    """Every slip that could explain the reading, likely or not."""
    for family in (_ratios, _offsets, _text, _rows, _sides):
        yield from family(at)


def _ratios(at: Situation) -> Iterator[Guess]:
    nm, factors, read_in = at.reading.nm, nm_per_unit(), at.reading.unit
    if at.kind == "half":
        yield _undone(at, SlipKind.FULL_FOR_HALF, nm // 2, 1.0, _FAR, steepness=0.5)
    if at.kind == "full":
        yield _undone(at, SlipKind.HALF_FOR_FULL, 2 * nm, 1.0, _FAR, steepness=2.0)
    for slip, unit in _UNIT_SLIPS[read_in]:
        # A unit typed by hand is rarely the wrong one.
        weight = 0.1 if at.reading.unit_was_typed else 1.0
        undone_nm = nm * factors[unit] // factors[read_in]
        yield _undone(at, slip, undone_nm, weight, _FAR, steepness=factors[unit] / factors[read_in])
    # Ten times too much in mm, or too little in cm, was named above; the other way round is a lost point.
    if read_in != Unit.CM:
        yield _undone(at, SlipKind.DECIMAL_POINT, nm // 10, 0.3, _FAR, steepness=0.1)
    if read_in != Unit.MM:
        yield _undone(at, SlipKind.DECIMAL_POINT, nm * 10, 0.3, _FAR, steepness=10.0)


def _offsets(at: Situation) -> Iterator[Guess]:
    nm, in_inches = at.reading.nm, at.reading.unit == Unit.INCH
    yield _undone(at, SlipKind.START_MARK_INCH, nm - _INCH, 0.5, _NEAR)
    yield _undone(at, SlipKind.START_MARK_10CM, nm - 100 * NM_PER_MM, 0.1 if in_inches else 0.5, _FAR)
    for add_nm, share in _TENS_IN_INCHES if in_inches else _TENS_IN_MM:
        yield _undone(at, SlipKind.TENS, nm + add_nm, share, _NEAR)


def _text(at: Situation) -> Iterator[Guess]:
    swaps = swapped_digits(at.reading)
    for undone_nm in swaps:
        yield _undone(at, SlipKind.SWAPPED_DIGITS, undone_nm, 0.7 / len(swaps), _NEAR)
    if (undone := fraction_behind_decimals(at.reading)) is not None:
        fraction = _undone(at, SlipKind.FRACTION_AS_DECIMALS, undone, 5.0, _FAR)
        yield fraction._replace(is_in_the_text=True)


def _rows(at: Situation) -> Iterator[Guess]:
    nm = at.reading.nm
    for name, expected in at.neighbours.items():
        weight = 1.0 / len(at.neighbours)
        yield Guess(SlipKind.NEIGHBOUR_POINT, nm, expected, weight, _NEAR, name=name)
    for size, expected in at.neighbour_sizes.items():
        # One figure alone rarely means a wrong row or label; the other figures of the piece decide.
        votes = at.size_votes.get(size, 0)
        weight = min(0.3 * 10.0**votes, 30.0) / len(at.neighbour_sizes)
        yield Guess(SlipKind.NEIGHBOUR_SIZE, nm, expected, weight, _FAR if votes > 0 else _NEAR, name=size)


def _sides(at: Situation) -> Iterator[Guess]:
    """Left and right in each other's box shows where they differ: in the spec, or in earlier readings."""
    nm, other_nm, other = at.reading.nm, at.other_side_nm, at.other_side_expected
    if other is not None and other != at.expected and (other_nm is None or at.expected.holds(other_nm)):
        weight = 1.0 if other_nm is None else 5.0
        yield Guess(SlipKind.SIDES_SWAPPED, nm, other, weight, 1.0, suggestion_nm=other_nm)
    elif other_nm is not None and at.earlier_nm:
        like_the_other = Expected(other_nm, other_nm - SAME_READING_NM, other_nm + SAME_READING_NM)
        yield Guess(SlipKind.SIDES_SWAPPED, nm, like_the_other, 1.0, 1.0)


def _undone(
    at: Situation, kind: SlipKind, undone_nm: int, weight: float, reach: float, *, steepness: float = 1.0
) -> Guess:
    """A slip of this very reading: the undone length is what should have been typed here."""
    return Guess(kind, undone_nm, at.expected, weight, reach, steepness, suggestion_nm=undone_nm)
