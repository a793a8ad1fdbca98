"""Whose fault is it: the causes behind the deviations of a batch, ranked by how well each explains them.

A tape, a pair of hands, a pattern, a roll of cloth: each leaves its own trace over lengths and girths, left
and right, sizes, people, tapes, and what moved elsewhere. Every cause is a small explicit model, y = x·β +
ordinary spread, with β as large as is usual for it; the chance of the readings under each is a closed form,
and so the causes can be compared, "nothing in particular" among them. A cause is named only when it stands
well clear of nothing and of the next; else the answer is "cannot tell", with the reading that would tell.

    ranking = rank_causes(Batch(points, pieces, readings, elsewhere))

The traces and the usual sizes of the effects are common practice, no source.

    batch          what is known of a batch
    layout         the same as columns of numbers
    background     what a batch looks like when nothing is the matter
    variants       the ways one cause may show, and how well each explains the readings
    ours           the tape, its start, the person, the height, a wrong reading
    making         seams, pattern, grading, cloth, binding, waist tape, the former spec
    single_pieces  wrong label, swapped panel, worn
    words          the causes in words
    evidence       the list of causes, and how likely the readings are under each
    ranking        probabilities, and whether a cause may be named
    explaining     how large a cause is, where, and what speaks against it
    settling       the next reading that tells two causes apart
    telling        all of it for one batch
"""

from inventory.calc.causes.batch import (
    Batch,
    Edge,
    Elsewhere,
    Grain,
    Piece,
    Point,
    PointKind,
    Reading,
    Side,
    Witness,
)
from inventory.calc.causes.explaining import Effect, Mean
from inventory.calc.causes.ranking import OVER_NOTHING, OVER_THE_NEXT, Answer
from inventory.calc.causes.settling import Next, Settling
from inventory.calc.causes.telling import CauseRanking, Suspect, rank_causes
from inventory.calc.causes.variants import Where
from inventory.calc.causes.words import WORDS, Cause, EffectUnit, Whose, Words

__all__ = [
    "OVER_NOTHING",
    "OVER_THE_NEXT",
    "WORDS",
    "Answer",
    "Batch",
    "Cause",
    "CauseRanking",
    "Edge",
    "Effect",
    "EffectUnit",
    "Elsewhere",
    "Grain",
    "Mean",
    "Next",
    "Piece",
    "Point",
    "PointKind",
    "Reading",
    "Settling",
    "Side",
    "Suspect",
    "Where",
    "Whose",
    "Witness",
    "Words",
    "rank_causes",
]
