"""The story of a maker and a style: which batches, how strictly, what was decided, what that led to."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from inventory.calc.sampling.attributes import DefectClass
from inventory.models import Batch, Shop, Style
from inventory.models.sampling_plans import read_plan
from inventory.queries.sampling.earned import policy_of, standing_before
from inventory.queries.sampling.past import history_of
from inventory.queries.sampling.planning import switching_of
from inventory.queries.sampling.schemes import scheme_for, schemes_set_for

if TYPE_CHECKING:
    from inventory.models import BatchDecision, Maker, SamplingScheme, SwitchingNote
    from inventory.queries.sampling.past import Switching


@dataclass(frozen=True, slots=True)
class StoryLine:
    """One decided batch: the plan in words by class, and what was decided."""

    decision: BatchDecision
    severity: str
    plans: Sequence[str]

    @property
    def batch(self) -> Batch:
        return self.decision.sampling.batch


@dataclass(frozen=True, slots=True)
class Story:
    """What holds, what follows for the next batch, and how it came to that; newest batches first."""

    scheme: SamplingScheme | None
    own: Sequence[SamplingScheme]
    switching: Mapping[DefectClass, Switching]
    lines: Sequence[StoryLine]
    notes: Sequence[SwitchingNote]
    earned_words: str
    steady: bool
    reduced_wanted: bool


def story_of(maker: Maker, style: Style) -> Story:
    """The story of a maker and a style; a constant number of statements."""
    scheme = scheme_for(maker.pk, style.pk)
    history = history_of(maker.pk, style.pk)
    standing = standing_before(maker.pk, style.pk)
    steady, wanted = history.wished()
    return Story(
        scheme=scheme,
        own=list(schemes_set_for(maker, style)),
        switching={} if scheme is None else switching_of(scheme, history),
        lines=[_line(row) for row in reversed(history.decisions)],
        notes=list(reversed(history.notes)),
        earned_words=standing.words(policy_of(Shop.objects.current(), scheme)),
        steady=steady,
        reduced_wanted=wanted,
    )


def styles_from(maker: Maker) -> list[Style]:
    """The styles that ever came from a maker, or have an agreement of their own."""
    from_it = Style.objects.filter(batches__delivery__maker=maker)
    agreed = Style.objects.filter(sampling_schemes__maker=maker)
    return list((from_it | agreed).distinct().order_by("code"))


def _line(row: BatchDecision) -> StoryLine:
    plan = read_plan(row.sampling.document)
    return StoryLine(
        row, plan.severity, [f"{one}: {its.plan}" for one, its in plan.classes.items() if its.aql is not None]
    )
