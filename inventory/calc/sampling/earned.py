"""How much to measure: everything, until a maker has earned less; and everything again after one bad reading.

Three things are settled here, from plain facts and without memory of its own:

- Pieces. Up to a size the shop sets (50) every piece is measured. Above it, or once the maker has earned it
  with this style, a sampling plan may be used: a plan on a small batch is hardly a check.
- Points. Primary points are measured in every batch. Once earned, secondary points take turns: each is due
  in one batch of every ``turns``, counted along the batches of this maker and style.
- The way back. One reading out of tolerance takes back all that was earned, at once and for the batches
  after it, until it is earned anew: every point, and every piece of a batch the shop measures whole. A batch
  that its sample refused is screened: every piece not yet measured is, and each is judged by itself.

The figures (50 pieces, 5 batches in a row, one batch in 3) are common practice without a source, and the
shop's to set.
"""

from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass
from enum import StrEnum

from inventory.calc.errors import ImpossibleInput


@dataclass(frozen=True, slots=True)
class Policy:
    """What the shop has set: size measured whole, batches to earn less, batches per rota."""

    measure_all_up_to: int = 50
    batches_to_earn: int = 5
    turns: int = 3

    def __post_init__(self) -> None:
        if self.measure_all_up_to < 0:
            raise ImpossibleInput(
                "batch size measured whole", self.measure_all_up_to, "Give 0 or more pieces"
            )
        if self.batches_to_earn < 1:
            raise ImpossibleInput("number of batches to earn less", self.batches_to_earn, "Give at least 1")
        if self.turns < 1:
            raise ImpossibleInput("number of batches of a rota", self.turns, "Give at least 1")


@dataclass(frozen=True, slots=True)
class Outcome:
    """How one batch ended: accepted or not, and how many readings were out of tolerance."""

    accepted: bool
    readings_out: int

    def __post_init__(self) -> None:
        if self.readings_out < 0:
            raise ImpossibleInput("number of readings out", self.readings_out, "Give 0 or more")

    @property
    def clean(self) -> bool:
        """Accepted without one reading out."""
        return self.accepted and not self.readings_out


@dataclass(frozen=True, slots=True)
class Standing:
    """Clean batches in a row of one maker with one style."""

    clean_in_a_row: int = 0

    def earned(self, policy: Policy) -> bool:
        """Whether less may be measured."""
        return self.clean_in_a_row >= policy.batches_to_earn

    def after(self, outcome: Outcome) -> "Standing":
        """The standing once this batch has ended: one more, or none.

        >>> Standing(4).after(Outcome(accepted=True, readings_out=0))
        Standing(clean_in_a_row=5)
        >>> Standing(9).after(Outcome(accepted=True, readings_out=1))
        Standing(clean_in_a_row=0)
        """
        return Standing(self.clean_in_a_row + 1 if outcome.clean else 0)

    def words(self, policy: Policy) -> str:
        """For the page of the maker.

        >>> Standing(3).words(Policy())
        '3 clean batches in a row; 2 more before less may be measured.'
        """
        batches = f"{self.clean_in_a_row} clean batch{'' if self.clean_in_a_row == 1 else 'es'} in a row"
        if self.earned(policy):
            return f"{batches}: less may be measured, until one reading is out."
        return f"{batches}; {policy.batches_to_earn - self.clean_in_a_row} more before less may be measured."


def standing_after(outcomes: Iterable[Outcome]) -> Standing:
    """The standing after a history of batches, oldest first."""
    standing = Standing()
    for outcome in outcomes:
        standing = standing.after(outcome)
    return standing


class Extent(StrEnum):
    """How many pieces."""

    ALL = "all"
    PLAN = "plan"


@dataclass(frozen=True, slots=True)
class Pieces:
    """All pieces or a plan, and why, in words."""

    extent: Extent
    words: str


def pieces_due(batch_size: int, *, policy: Policy, standing: Standing, bad_seen: bool = False) -> Pieces:
    """Whether this batch is measured whole or may go by a plan.

    ``bad_seen``: a reading of this batch is out already, so what was earned no longer counts. A batch too
    large to be measured whole stays with its plan, which decides by what it finds.

    >>> pieces_due(80, policy=Policy(), standing=Standing()).words
    '80 pieces are more than the 50 that are always measured whole: a plan may be used.'
    """
    if batch_size < 1:
        raise ImpossibleInput("batch size", batch_size, "Give at least 1 piece")
    if batch_size > policy.measure_all_up_to:
        return Pieces(
            Extent.PLAN,
            f"{batch_size} pieces are more than the {policy.measure_all_up_to} that are always measured "
            "whole: a plan may be used.",
        )
    if standing.earned(policy) and bad_seen:
        return Pieces(Extent.ALL, "A reading is out: every piece of this batch is measured again.")
    if standing.earned(policy):
        return Pieces(
            Extent.PLAN, f"The last {standing.clean_in_a_row} batches were clean: a plan may be used."
        )
    return Pieces(
        Extent.ALL,
        f"Up to {policy.measure_all_up_to} pieces every one is measured, until the maker has earned less.",
    )


@dataclass(frozen=True, slots=True)
class Points:
    """Points to measure in this batch, points that rest, and why, in words."""

    due: tuple[str, ...]
    resting: tuple[str, ...]
    words: str


def points_due(
    primary: Sequence[str],
    secondary: Sequence[str],
    *,
    batch_number: int,
    policy: Policy,
    standing: Standing,
    bad_seen: bool = False,
) -> Points:
    """Which points are measured: the primary ones always, the secondary ones all, or those whose turn it is.

    ``batch_number`` counts the batches of this maker and style; ``secondary`` keeps its order from batch to
    batch, so each comes up once in ``policy.turns`` batches.

    >>> points_due(["A", "B"], ["C", "D", "E"], batch_number=7, policy=Policy(), standing=Standing(5)).due
    ('A', 'B', 'D')
    """
    codes = [*primary, *secondary]
    twice = next((code for code in codes if codes.count(code) > 1), None)
    if twice is not None:
        raise ImpossibleInput("point", f"{twice}, there twice", "Give each point once, primary or secondary")
    if batch_number < 0:
        raise ImpossibleInput("number of the batch", batch_number, "Count the batches from 0 or 1")
    if bad_seen and standing.earned(policy):
        return Points(tuple(codes), (), "A reading is out: every point is measured again.")
    if not standing.earned(policy) or policy.turns == 1:
        return Points(tuple(codes), (), "Every point is measured.")
    turn = batch_number % policy.turns
    due = tuple(code for place, code in enumerate(secondary) if place % policy.turns == turn)
    resting = tuple(code for code in secondary if code not in due)
    others = ", ".join(due) or "none this time"
    words = f"Primary points, and 1 in {policy.turns} of the others in turn: {others}."
    return Points((*primary, *due), resting, words)


@dataclass(frozen=True, slots=True)
class Screening:
    """Pieces of a refused batch still to be measured, in the order given, and the words for it."""

    to_measure: tuple[str, ...]
    words: str


def screening(labels: Sequence[str], *, measured: Collection[str]) -> Screening:
    """What is left to measure of a batch that its sample refused.

    >>> screening(["P1", "P2", "P3"], measured={"P2"}).to_measure
    ('P1', 'P3')
    """
    known = set(labels)
    stranger = next((label for label in measured if label not in known), None)
    if stranger is not None:
        raise ImpossibleInput(
            "measured piece", f"{stranger}, not in this batch", "Give pieces of this batch only"
        )
    done = set(measured)
    left = tuple(label for label in labels if label not in done)
    if not left:
        return Screening(
            left, "The batch was refused. Every piece has been measured: each goes by its own verdict."
        )
    pieces = "the 1 piece" if len(left) == 1 else f"the {len(left)} pieces"
    return Screening(
        left, f"The batch was refused: measure {pieces} left as well; then each goes by its own verdict."
    )
