"""From a batch size, a level and a quality limit to the plan, with what was done on the way in words.

The batch size and the level give a letter; letter, quality limit (AQL) and severity give the plan. Three
things go wrong by hand and are done here: where the table shows an arrow, the row it leads to gives the
sample size too; a sample as large as the batch means every piece; and the reduced plans are those of one
edition only. AQL is a limit on the average of a series of batches, not the share allowed in each.

Source: MIL-STD-105E (10 May 1989), 4.9 and Tables I to III; ISO 2859-1:1999 for the same tables but reduced.
"""

from dataclasses import dataclass, replace
from decimal import Decimal

from inventory.calc.errors import ImpossibleInput
from inventory.calc.sampling.attributes.kinds import Edition, Level, Plan, Severity, SinglePlan
from inventory.calc.sampling.attributes.tables import aqls, code_letters, double_at, single_at

MOST_AS_PERCENT = Decimal(10)
"""Above this AQL the tables count defects per 100 pieces; a share of bad pieces has no meaning there."""


@dataclass(frozen=True, slots=True)
class Choice:
    """The plan for one batch and how it was found.

    ``letter`` belongs to the batch size, ``plan.letter`` is the row the plan stands in. With ``inspect_all``
    the plan's size is the batch. ``notes`` say what was done, one sentence each.
    """

    plan: Plan
    batch_size: int
    letter: str
    level: Level
    aql: Decimal
    severity: Severity
    edition: Edition
    notes: tuple[str, ...]

    @property
    def inspect_all(self) -> bool:
        """Whether the plan asks for every piece of the batch."""
        return self.plan.size >= self.batch_size

    @property
    def counts_defects(self) -> bool:
        """Whether its numbers count defects (several on one piece each count), not bad pieces."""
        return self.aql > MOST_AS_PERCENT


def code_letter(batch_size: int, level: Level = Level.II) -> str:
    """The letter of a batch size (pieces) at a level; Table I. Raises ImpossibleInput below 2 pieces.

    >>> code_letter(80), code_letter(80, Level.S2)
    ('E', 'B')
    """
    if batch_size < 2:
        raise ImpossibleInput(
            "batch size", batch_size, "Sampling starts at 2 pieces; inspect the piece itself"
        )
    return next(row[level] for smallest, row in reversed(code_letters()) if batch_size >= smallest)


def choose_plan(
    batch_size: int,
    aql: Decimal,
    *,
    level: Level = Level.II,
    severity: Severity = Severity.NORMAL,
    edition: Edition = Edition.MIL_105E,
    double: bool = False,
) -> Choice:
    """The plan for a batch of so many pieces at a quality limit (AQL, percent; above 10 defects per 100).

    ``double`` asks for a double plan; where there is none the single one is given and the notes say so.
    Raises ImpossibleInput for a batch under 2 pieces, an AQL the tables have not, and reduced inspection by
    ISO 2859-1:1999, whose reduced plans are not supplied.

    >>> choice = choose_plan(30, Decimal("2.5"))
    >>> print(choice.plan)
    5 pieces, accept with 0, refuse with 1
    >>> choice.notes[0]
    'Letter D has no plan at AQL 2.5; the arrow leads to letter C, and its sample of 5 is drawn.'
    """
    _refuse_unsupplied(severity, edition)
    letter = code_letter(batch_size, level)
    single = single_at(severity, letter, aql)
    plan, notes = _double_or_single(batch_size, single, severity, letter, aql) if double else (single, ())
    if plan.letter != letter:
        notes = (_arrow_note(letter, plan, aql), *notes)
    if plan.size >= batch_size:
        notes = (
            *notes,
            f"The sample of {plan.size} is not smaller than the batch: inspect all {batch_size}.",
        )
        plan = replace(plan, size=batch_size)
    choice = Choice(plan, batch_size, letter, level, aql, severity, edition, notes)
    return replace(choice, notes=(*notes, *_warnings(choice)))


def next_tighter(plan: Plan, aql: Decimal) -> SinglePlan | None:
    """The normal single plan one AQL tighter in the row of ``plan``; None at the smallest AQL.

    It is what the switching score of ISO 2859-1:1999 asks a batch to pass as well. The row is the plan's
    own, so that the sample drawn is the sample judged.
    """
    at = aqls().index(aql)
    return single_at(Severity.NORMAL, plan.letter, aqls()[at - 1]) if at else None


def _refuse_unsupplied(severity: Severity, edition: Edition) -> None:
    if severity is Severity.REDUCED and edition is Edition.ISO_1999:
        raise ImpossibleInput(
            "reduced plan",
            f"of {edition}, whose reduced table differs and is not supplied here",
            f"Stay on normal inspection, or agree with the maker on the reduced plans of {Edition.MIL_105E}",
        )


def _double_or_single(
    batch_size: int, single: SinglePlan, severity: Severity, letter: str, aql: Decimal
) -> tuple[Plan, tuple[str, ...]]:
    double = double_at(severity, letter, aql)
    if double is None:
        return single, ("The tables have no double plan here; the single plan is used.",)
    if double.most >= batch_size:
        together = f"Both samples of the double plan ({double.most} pieces)"
        return single, (f"{together} would not be smaller than the batch; the single plan is used.",)
    return double, ()


def _arrow_note(letter: str, plan: Plan, aql: Decimal) -> str:
    return (
        f"Letter {letter} has no plan at AQL {aql}; the arrow leads to letter {plan.letter}, "
        f"and its sample of {plan.size} is drawn."
    )


def _warnings(choice: Choice) -> tuple[str, ...]:
    """What must be said of the numbers themselves."""
    notes = []
    if choice.counts_defects:
        notes.append(
            f"AQL {choice.aql} counts defects per 100 pieces: every defect found counts, not each bad piece."
        )
    if choice.severity is Severity.REDUCED:
        notes.append(f"Reduced plans are those of {Edition.MIL_105E}; ISO 2859-1:1999 has others.")
    plan = choice.plan
    if plan.reject > plan.accept + 1:
        notes.append(
            f"With more than {plan.accept} and fewer than {plan.reject} bad the batch is accepted, "
            "and normal inspection returns with the next one."
        )
    return tuple(notes)
