"""The guesses weighed against each other: which slip to ask about, most likely first."""

import math
from collections.abc import Mapping, Sequence
from typing import Final

from inventory.calc.length import NM_PER_MM, Display, Parsed
from inventory.calc.slips.digits import fraction_behind_decimals
from inventory.calc.slips.guesses import SAME_READING_NM, Guess, Situation, guesses
from inventory.calc.slips.kinds import Expected, PointKind, Slip, SlipKind
from inventory.calc.slips.wording import question

_NOTHING: Final[Mapping[str, Expected]] = {}
_NO_VOTES: Final[Mapping[str, int]] = {}


def look_for_slips(
    reading: Parsed,
    *,
    expected: Expected,
    kind: PointKind = "half",
    neighbours: Mapping[str, Expected] = _NOTHING,
    neighbour_sizes: Mapping[str, Expected] = _NOTHING,
    size_votes: Mapping[str, int] = _NO_VOTES,
    earlier_nm: Sequence[int] = (),
    other_side_nm: int | None = None,
    other_side_expected: Expected | None = None,
    batch_shift_nm: int = 0,
    display: Display | None = None,
) -> tuple[Slip, ...]:
    """The slips a reading looks like, most likely first; empty when it is plausible or nothing explains it.

    expected: what this side of this point should read, limits widened by the guard band.
    kind: of the point; only halves and fulls can be mistaken for each other.
    neighbours: the other points a row slip could come from, by the name to show, same side.
    neighbour_sizes: the same point in the sizes next to this one, by size label.
    size_votes: per size, how many other readings of the piece fit it and not their own size, minus
        how many fit their own and not it.
    earlier_nm: earlier readings of the same point and side; one that agrees settles the question.
    other_side_nm, other_side_expected: the other side as read, and what it should read if that differs.
    batch_shift_nm: mean deviation of the batch at this point; a reading usual for the batch is plausible.
    display: how the shop shows lengths; None: decimals of the unit the reading was typed in.

    >>> from inventory.calc.length import Unit, parse
    >>> half_waist = Expected(330_000_000, 321_000_000, 339_000_000)
    >>> look_for_slips(parse("660", unit=Unit.MM), expected=half_waist)[0].question
    'Typed 660 mm, but the half is specified at 330 mm. Is this the full girth, and the half 330 mm?'
    """
    shown = display or Display(reading.unit)
    if is_plausible(reading.nm, expected, earlier_nm=earlier_nm, batch_shift_nm=batch_shift_nm):
        return _fraction_only(reading, expected, shown)
    if reading.nm == 0:
        slip = SlipKind.NOTHING_READ
        return (Slip(slip, None, question(slip, reading, expected, shown)),)
    at = Situation(
        reading=reading,
        expected=expected,
        kind=kind,
        neighbours=neighbours,
        neighbour_sizes=neighbour_sizes,
        size_votes=size_votes,
        earlier_nm=earlier_nm,
        other_side_nm=other_side_nm,
        other_side_expected=other_side_expected,
    )
    return tuple(
        Slip(
            guess.kind,
            guess.suggestion_nm,
            question(guess.kind, reading, expected, shown, suggestion_nm=guess.suggestion_nm, fits=guess),
        )
        for guess in _ranked(at)
    )


def is_plausible(
    nm: int, expected: Expected, *, earlier_nm: Sequence[int] = (), batch_shift_nm: int = 0
) -> bool:
    """Whether a length needs no explanation: within limits, usual for the batch, or confirmed by a repeat."""
    return (
        expected.holds(nm)
        or (batch_shift_nm != 0 and expected.holds(nm - batch_shift_nm))
        or any(abs(nm - earlier) <= SAME_READING_NM for earlier in earlier_nm)
    )


def _fraction_only(reading: Parsed, expected: Expected, shown: Display) -> tuple[Slip, ...]:
    """A plausible 12.58 still asks for 12 5/8 where fractions are read: it is a trace in the text."""
    if shown.denominator is None:
        return ()
    suggestion_nm = fraction_behind_decimals(reading)
    if suggestion_nm is None or not expected.holds(suggestion_nm):
        return ()
    slip = SlipKind.FRACTION_AS_DECIMALS
    return (Slip(slip, suggestion_nm, question(slip, reading, expected, shown, suggestion_nm=suggestion_nm)),)


def _ranked(at: Situation) -> list[Guess]:
    """The best guess of each kind, by the likelihood of the whole kind."""
    likelihood: dict[SlipKind, float] = {}
    best: dict[SlipKind, tuple[float, Guess]] = {}
    own_distance = at.expected.distance(at.reading.nm)
    for guess in guesses(at):
        if guess.fits_nm <= 0 or not guess.fits.holds(guess.fits_nm, reach=guess.reach):
            continue
        distance = guess.fits.distance(guess.fits_nm)
        if distance >= own_distance and not guess.is_in_the_text:
            continue
        density = math.exp(-(distance**2) / 2) / (guess.fits.spread_nm / NM_PER_MM)
        score = guess.weight * guess.steepness * density
        likelihood[guess.kind] = likelihood.get(guess.kind, 0.0) + score
        if guess.kind not in best or score > best[guess.kind][0]:
            best[guess.kind] = (score, guess)
    return [best[kind][1] for kind in sorted(best, key=lambda kind: -likelihood[kind])]
