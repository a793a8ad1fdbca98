"""The guesses weighed against each other: which slip to ask about, most likely first."""

from collections.abc import Mapping, Sequence
from typing import Final

from inventory.calc.length import NM_PER_MM, Display, Parsed
from inventory.calc.slips.digits import fraction_behind_decimals
from inventory.calc.slips.guesses import SAME_READING_NM, Guess, Situation, guesses
from inventory.calc.slips.kinds import Expected, PointKind, Slip, SlipKind
from inventory.calc.slips.usual import believed, density, usual_here
from inventory.calc.slips.wording import question

_NOTHING: Final[Mapping[str, Expected]] = {}
_NO_VOTES: Final[Mapping[str, int]] = {}

# A slip must explain the reading at least so well, against the honest reading that lies off the nominal.
# Half as well was tried out on the bench of the tests: with less, honest readings are asked about more and no
# more slips are found; with three times as well, misread tens go by.
_LEAST_LIKELY: Final = 0.5
# A piece of another size is off on both sides and at every point, so what the other side reads is nothing
# against it; there the other figures of the piece decide, which are in its weight.
_OF_THE_WHOLE_PIECE: Final = frozenset({SlipKind.NEIGHBOUR_SIZE, SlipKind.SIDES_SWAPPED})
_LEAST_LIKELY_OF_THE_PIECE: Final = 0.01
# The last net: a quarter off is no garment of this size; on a short length less than 20 mm may be one that is
# merely badly cut (common practice, no source).
_FAR_OFF_SHARE: Final = 0.25
_FAR_OFF_NM: Final = 20 * NM_PER_MM


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
    blind: bool = False,
) -> tuple[Slip, ...]:
    """The slips a reading looks like, most likely first; empty when it is plausible.

    Also empty when nothing explains a reading that is off, unless it is very far off.

    expected: what this side of this point should read, limits widened by the guard band.
    kind: of the point; only halves and fulls can be mistaken for each other.
    neighbours: the other points a row slip could come from, by the name to show, same side.
    neighbour_sizes: the same point in the sizes next to this one, by size label.
    size_votes: per size, how many other readings of the piece fit it and not their own size, minus
        how many fit their own and not it.
    earlier_nm: earlier readings of the same point and side; one that agrees settles the question.
    other_side_nm, other_side_expected: the other side as read, and what it should read if that differs.
    batch_shift_nm: usual deviation of the batch at this point; a reading usual for the batch is plausible.
    display: how the shop shows lengths; None: decimals of the unit the reading was typed in.
    blind: name the slip without the nominal or any figure but the typed one, so that a second reading is
        as unbiased as the first.

    >>> from inventory.calc.length import Unit, parse
    >>> half_waist = Expected(330_000_000, 321_000_000, 339_000_000)
    >>> look_for_slips(parse("660", unit=Unit.MM), expected=half_waist)[0].question
    'Typed 660 mm, but the half is specified at 330 mm. Is this the full girth, and the half 330 mm?'
    """
    shown = display or Display(reading.unit)
    if is_plausible(reading.nm, expected, earlier_nm=earlier_nm, batch_shift_nm=batch_shift_nm):
        return _fraction_only(reading, expected, shown, blind=blind)
    if reading.nm == 0:
        slip = SlipKind.NOTHING_READ
        return (Slip(slip, None, question(slip, reading, expected, shown, blind=blind)),)
    at = Situation(
        reading=reading,
        expected=expected,
        usual=usual_here(
            expected,
            other_side_nm=other_side_nm,
            other_side_expected=other_side_expected,
            batch_shift_nm=batch_shift_nm,
        ),
        kind=kind,
        neighbours=neighbours,
        neighbour_sizes=neighbour_sizes,
        size_votes=size_votes,
        earlier_nm=earlier_nm,
        other_side_nm=other_side_nm,
        other_side_expected=other_side_expected,
    )
    ranked = _ranked(at)
    if not ranked and is_far_off(reading.nm, expected):
        slip = SlipKind.FAR_OFF
        return (Slip(slip, None, question(slip, reading, expected, shown, blind=blind)),)
    return tuple(
        Slip(
            guess.kind,
            guess.suggestion_nm,
            question(
                guess.kind,
                reading,
                expected,
                shown,
                suggestion_nm=guess.suggestion_nm,
                fits=guess,
                blind=blind,
            ),
        )
        for guess in ranked
    )


def is_plausible(
    nm: int, expected: Expected, *, earlier_nm: Sequence[int] = (), batch_shift_nm: int = 0
) -> bool:
    """Whether a length needs no explanation: within limits, usual for the batch, or confirmed by a repeat."""
    return (
        expected.holds(nm)
        or expected.holds(nm - believed(batch_shift_nm))
        or any(abs(nm - earlier) <= SAME_READING_NM for earlier in earlier_nm)
    )


def is_far_off(nm: int, expected: Expected) -> bool:
    """Whether a length (nm) is so far from the nominal that it is asked about though no slip explains it.

    >>> waist = Expected(330_000_000, 321_000_000, 339_000_000)
    >>> is_far_off(412_000_000, waist), is_far_off(413_000_000, waist)
    (False, True)
    """
    off_nm = abs(nm - expected.nominal_nm)
    return off_nm > _FAR_OFF_SHARE * expected.nominal_nm and off_nm > _FAR_OFF_NM


def _fraction_only(reading: Parsed, expected: Expected, shown: Display, *, blind: bool) -> tuple[Slip, ...]:
    """A plausible 12.58 still asks for 12 5/8 where fractions are read: it is a trace in the text."""
    if shown.denominator is None:
        return ()
    suggestion_nm = fraction_behind_decimals(reading)
    if suggestion_nm is None or not expected.holds(suggestion_nm):
        return ()
    slip = SlipKind.FRACTION_AS_DECIMALS
    words = question(slip, reading, expected, shown, suggestion_nm=suggestion_nm, blind=blind)
    return (Slip(slip, suggestion_nm, words),)


def _ranked(at: Situation) -> list[Guess]:
    """The best guess of each kind that is likely enough, by the likelihood of the whole kind."""
    likelihood: dict[SlipKind, float] = {}
    best: dict[SlipKind, tuple[float, Guess]] = {}
    for guess in guesses(at):
        score = _score(guess, at)
        if score == 0.0:
            continue
        likelihood[guess.kind] = likelihood.get(guess.kind, 0.0) + score
        if guess.kind not in best or score > best[guess.kind][0]:
            best[guess.kind] = (score, guess)
    kinds = sorted(best, key=lambda kind: -likelihood[kind])
    likely = _likely_enough(likelihood, at)
    return [best[kind][1] for kind in kinds if kind in likely or best[kind][1].is_in_the_text]


def _score(guess: Guess, at: Situation) -> float:
    """How often the slip happens times how well the length behind it fits; 0 if it does not fit better."""
    if guess.fits_nm <= 0:
        return 0.0
    if guess.fits is at.expected:
        moved_nm = guess.fits_nm - (at.usual.centre_nm - at.expected.nominal_nm)
        fits = any(at.expected.holds(nm, reach=guess.reach) for nm in (guess.fits_nm, moved_nm))
        distance, own = at.usual.distance(guess.fits_nm), at.usual.distance(at.reading.nm)
        spread_nm = at.usual.spread_nm
    else:
        fits = guess.fits.holds(guess.fits_nm, reach=guess.reach)
        distance, own = guess.fits.distance(guess.fits_nm), at.expected.distance(at.reading.nm)
        spread_nm = guess.fits.spread_nm
    if not fits or (distance >= own and not guess.is_in_the_text):
        return 0.0
    return guess.weight * guess.steepness * density(distance, spread_nm)


def _likely_enough(likelihood: Mapping[SlipKind, float], at: Situation) -> set[SlipKind]:
    """The kinds that explain the reading well enough beside an honest reading that is merely off.

    Slips of this one reading stand together against the honest one: whichever it was, it is worth a look.
    """
    honest = density(at.usual.distance(at.reading.nm), at.usual.spread_nm)
    by_spec = density(at.expected.distance(at.reading.nm), at.expected.spread_nm)
    of_piece = {kind for kind in likelihood if kind in _OF_THE_WHOLE_PIECE}
    of_reading = likelihood.keys() - of_piece
    likely = {kind for kind in of_piece if likelihood[kind] >= _LEAST_LIKELY_OF_THE_PIECE * by_spec}
    together = sum(likelihood[kind] for kind in of_reading)
    if not at.usual.is_confirmed(at.reading.nm) and together >= _LEAST_LIKELY * honest:
        likely |= of_reading
    return likely
