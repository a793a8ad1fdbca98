"""A cause in words: what may be said of the batch, how large it is, where it sits, what speaks against."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from django.utils import timezone

from inventory.calc.causes import (
    WORDS,
    Answer,
    Cause,
    CauseRanking,
    Effect,
    EffectUnit,
    Mean,
    Suspect,
    Where,
    Whose,
)
from inventory.calc.length import show, show_uncertainty

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Sequence

    from inventory.calc.length import Display

WHOSE_WORDS: Final = {
    Whose.OURS: "our own measuring",
    Whose.MAKERS: "the maker's work",
    Whose.HANDLING: "handling after it was made",
    Whose.ORDERING: "what was ordered",
    Whose.NOBODYS: "nobody's",
}
COVERAGE: Final = 2
"""Standard uncertainties shown after the ±."""

_SIDES: Final = {"L": "left", "R": "right", "S": "single"}
_PER: Final = {EffectUnit.NM: "", EffectUnit.NM_PER_SEAM: " a seam", EffectUnit.NM_PER_SIZE: " a size"}


def chance_in_words(probability: float) -> str:
    """A probability in whole percent, never as certain.

    >>> chance_in_words(0.9991), chance_in_words(0.424), chance_in_words(0.0004)
    ('over 99 %', '42 %', 'under 1 %')
    """
    percent = round(100 * probability)
    if percent >= 100 or probability > 0.99:
        return "over 99 %"
    return f"{percent} %" if percent else "under 1 %"


def answer_in_words(ranking: CauseRanking) -> str:
    """What may be said of the batch, in one or two sentences."""
    if ranking.answer is Answer.NOTHING:
        return f"Nothing in particular. {WORDS[Cause.NOTHING].explanation}"
    first = ranking.suspects[0]
    if ranking.answer is Answer.CAUSE:
        said = f"Most likely {first.words.name}: {WHOSE_WORDS[first.words.whose]}."
        return f"{said[:-1]}; {first.direction}." if first.direction else said
    rivals = [
        f"“{suspect.words.name}” ({chance_in_words(suspect.probability)})" for suspect in ranking.suspects
    ]
    nothing = f"nothing in particular ({chance_in_words(ranking.nothing)})"
    return (
        f"Cannot tell. The readings fit {_listed(rivals[:_RIVALS])}, and {nothing}: do not blame anybody yet."
    )


_RIVALS: Final = 3


def effect_in_words(effect: Effect, display: Display) -> str:
    """How large, plus or minus twice its standard uncertainty."""
    value, doubt = effect.value, COVERAGE * effect.u
    if effect.unit is EffectUnit.SHARE:
        return f"{_signed(100 * value, 2)} % ± {100 * doubt:.2f} %"
    if effect.unit is EffectUnit.STEPS:
        return f"{value:.2f} ± {doubt:.2f} of the step to the other nominals"
    if effect.unit is EffectUnit.TIMES_WIDER:
        return f"second halves of the bundles {value:.1f} ± {doubt:.1f} times as wide as the first"
    if effect.unit is EffectUnit.NM_TOO_LOW:
        which = "too low" if value > 0 else "too high"
        return f"the line {show(round(abs(value)), display)} ± {show_uncertainty(doubt, display)} {which}"
    return (
        f"{show(round(value), display, signed=True)} ± {show_uncertainty(doubt, display)}{_PER[effect.unit]}"
    )


def where_in_words(where: Where, moments: Sequence[dt.datetime]) -> str:
    """Where it sits, such as `P000012, left, at WA`; empty where it is all of the batch."""
    parts = [", ".join(where.pieces)]
    parts.append(_SIDES.get(where.side, ""))
    parts.append(f"at {', '.join(where.codes)}" if where.codes else "")
    parts.append(f"read by {where.person}" if where.person else "")
    parts.append(f"with {where.tape}" if where.tape else "")
    if where.fits_size:
        neighbour = "larger" if where.fits_size > 0 else "smaller"
        parts.append(f"fits size {where.size}" if where.size else f"fits the next {neighbour} size")
    elif where.size:
        parts.append(f"counted from size {where.size}")
    if where.since is not None:
        parts.append(f"from {timezone.localtime(moments[where.since]):%d %b %Y, %H:%M} on")
    return ", ".join(part for part in parts if part)


def against_in_words(mean: Mean, display: Display) -> str:
    """One figure that does not fit: what was seen, and what the cause expects."""
    seen, expected = (show(nm, display, signed=True) for nm in (mean.seen_nm, mean.expected_nm))
    return f"{mean.name}: off by {seen}, not by {expected}"


def explained_in_words(suspect: Suspect) -> str:
    """How much of the deviations goes away with it."""
    if suspect.explained is None:
        return "it moves no mean, so no share of the deviations is its own"
    return f"{100 * suspect.explained:.0f} % of the deviations (by their squares)"


def _signed(value: float, decimals: int) -> str:
    figure = f"{abs(value):.{decimals}f}"
    sign = "" if not float(figure) else "−" if value < 0 else "+"
    return sign + figure


def _listed(parts: Sequence[str]) -> str:
    return ", ".join(parts)
