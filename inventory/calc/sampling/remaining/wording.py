"""The sentences that go on paper: what was measured, what follows for the batch, how sure that is."""

from inventory.calc.sampling.remaining.chance import PRIOR, Chance
from inventory.calc.sampling.remaining.limits import BadLimits, Range, Sides
from inventory.calc.sampling.remaining.sample import ReadingRates, Sample


def percent(share: float) -> str:
    """A share in per cent, no more digits than it has; never rounded up to certainty or down to none.

    >>> percent(0.95), percent(0.999), percent(0.4187), percent(0.9999999), percent(0.0)
    ('95 %', '99.9 %', '41.9 %', 'over 99.9 %', '0 %')
    """
    if 0.999 < share < 1.0:
        return "over 99.9 %"
    if 0.0 < share < 0.001:
        return "under 0.1 %"
    return f"{round(share * 100, 1):g} %"


def say_limits(limits: BadLimits, *, beyond_doubt: bool = False) -> str:
    """The sentence for a claim or a release; ``beyond_doubt`` when only what the claim rule calls out counts.

    >>> from inventory.calc.sampling.remaining import Sample, Sides, limits_of_bad
    >>> print(say_limits(limits_of_bad(Sample(80, inspected=13, bad=3), sides=Sides.AT_LEAST)))
    Of 80 pieces 13 were measured and 3 are out; at 95 % confidence at least 6 of the 80 are out.

    A claim allows for wrong calls too:

    >>> careful = Sample(80, inspected=13, bad=3, rates=ReadingRates(false_bad=0.025))
    >>> print(say_limits(limits_of_bad(careful, sides=Sides.AT_LEAST), beyond_doubt=True))
    Of 80 pieces 13 were measured and 3 are out beyond doubt; at 95 % confidence at least 4 of the 80 are \
out. Allowed for: 2.5 % of good pieces called out, 0 % of bad pieces missed.
    """
    sample = limits.sample
    seen = _seen(sample, beyond_doubt=beyond_doubt)
    if sample.left == 0 and sample.rates.never_wrong:
        return f"{seen}; none is left."
    how_many = _how_many(limits.in_batch, limits.sides, of=f" of the {sample.batch_size}")
    sentence = f"{seen}; at {percent(limits.confidence)} confidence {how_many}."
    if not sample.rates.never_wrong:
        sentence += f" {_allowed_for(sample.rates)}"
    if not limits.rates_fit:
        sentence += " No number of pieces out explains this at those chances: they need another look."
    return sentence


def say_left(limits: BadLimits) -> str:
    """How many of the pieces not measured are out.

    >>> from inventory.calc.sampling.remaining import Sample, Sides, limits_of_bad
    >>> say_left(limits_of_bad(Sample(50, inspected=13, bad=0), sides=Sides.AT_MOST))
    'Of the 37 pieces not measured at most 8 are out, at 95 % confidence.'
    """
    sample = limits.sample
    if sample.left == 0:
        return "Every piece was measured; none is left."
    how_many = _how_many(limits.among_left, limits.sides)
    return (
        f"Of the {_pieces(sample.left)} not measured {how_many}, at {percent(limits.confidence)} confidence."
    )


def say_chance(found: Chance) -> str:
    """The chance that the agreed quality is met, with the belief it starts from.

    >>> from inventory.calc.sampling.remaining import Sample, chance_within
    >>> print(say_chance(chance_within(Sample(80, inspected=13, bad=0), most_bad=2)))
    The chance that at most 2 of the 80 pieces are out is 43.9 % (every number of bad pieces, from none to \
all, equally likely beforehand).
    """
    size = found.sample.batch_size
    subject = f"that none of the {_pieces(size)} is out"
    if found.most_bad:
        verb = "is" if found.most_bad == 1 else "are"
        subject = f"that at most {found.most_bad} of the {_pieces(size)} {verb} out"
    return f"The chance {subject} is {percent(found.chance)} ({PRIOR})."


def _seen(sample: Sample, *, beyond_doubt: bool) -> str:
    measured = f"{sample.inspected or 'none'} {_was(sample.inspected or 1)} measured"
    sure = " beyond doubt" if beyond_doubt else ""
    if not sample.bad:
        return f"Of {_pieces(sample.batch_size)} {measured} and none is out{sure}"
    return f"Of {_pieces(sample.batch_size)} {measured} and {sample.bad} {_is(sample.bad)} out{sure}"


def _how_many(found: Range, sides: Sides, *, of: str = "") -> str:
    if sides is Sides.AT_LEAST and not found.least:
        return f"none{of} has to be out"
    if sides is Sides.AT_LEAST:
        return f"at least {found.least}{of} {_is(found.least)} out"
    if sides is Sides.AT_MOST:
        return f"at most {found.most}{of} {_is(found.most)} out"
    if found.least == found.most:
        return f"{found.most or 'none'}{of} {_is(found.most or 1)} out"
    return f"between {found.least} and {found.most}{of} are out"


def _allowed_for(rates: ReadingRates) -> str:
    return (
        f"Allowed for: {percent(rates.false_bad)} of good pieces called out, "
        f"{percent(rates.false_good)} of bad pieces missed"
        f"{', and for an error that is in every reading alike' if rates.shared else ''}."
    )


def _pieces(number: int) -> str:
    return f"{number} piece" if number == 1 else f"{number} pieces"


def _is(number: int) -> str:
    return "is" if number == 1 else "are"


def _was(number: int) -> str:
    return "was" if number == 1 else "were"
