"""Sampling: the plan of a batch, its sample, the decision, and what the sample says of the rest."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, ClassVar

from django.utils import timezone
from drf_spectacular.utils import extend_schema
from rest_framework import serializers

from inventory.api.batches import found_batch
from inventory.api.frame.inputs import Input, OneOf, Text, Truth
from inventory.api.frame.resource import Resource
from inventory.api.frame.shapes import Shape
from inventory.calc.sampling.attributes import DefectClass
from inventory.calc.sampling.draw import DrawKind
from inventory.models import BatchDecision, BatchSampling, SamplingScheme
from inventory.models.verdicts import VerdictCode
from inventory.queries.sampling.planning import proposal_for
from inventory.queries.sampling.rest import rest_of
from inventory.queries.sampling.standing import sampling_of, standing_of_sample
from inventory.services.sampling.decisions import decide_batch
from inventory.services.sampling.draws import draw_sample
from inventory.services.sampling.refusals import CannotDraw

if TYPE_CHECKING:
    from rest_framework.request import Request
    from rest_framework.response import Response

    from inventory.calc.sampling.attributes import Running
    from inventory.models import Batch
    from inventory.models.sampling_plans import BatchPlan, ClassPlan

STATES = [
    ("plan", "not drawn yet"),
    ("none", "no plan, see `refused`"),
    ("every piece", "every piece is measured"),
    ("go on", "not decided"),
    ("accept", "the sample accepts, whatever is left"),
    ("refuse", "the sample refuses, whatever is left"),
]
CLASSES = [(one.value, one.value) for one in DefectClass]
Json = dict[str, Any]  # Any: what JSON can hold


class NewSample(Input):
    """A draw: the seed, made when left out, and how the pieces are chosen."""

    seed = Text(max_length=40, required=False, allow_blank=True, help_text="A whole number as text.")
    kind = OneOf(choices=[(kind.value, kind.words) for kind in DrawKind], required=False)


class NewBatchDecision(Input):
    """The decision that the sample has come to; `original` false for a batch handed in again."""

    original = Truth(required=False)


class SampleClassShape(Shape):
    """One class of defects: its plan, and what was found so far. `aql` is in per cent."""

    name = serializers.ChoiceField(choices=CLASSES)
    aql = serializers.CharField(allow_null=True)
    severity = serializers.CharField()
    letter = serializers.CharField(help_text="Of the batch size; empty where no table was asked.")
    pieces = serializers.IntegerField(help_text="Of the first sample.")
    accept = serializers.IntegerField(help_text="Of all samples together.")
    reject = serializers.IntegerField()
    accept_first = serializers.IntegerField(allow_null=True, help_text="Of a double plan's first sample.")
    reject_first = serializers.IntegerField(allow_null=True)
    why = serializers.CharField()
    inspected = serializers.IntegerField(allow_null=True)
    bad = serializers.IntegerField(allow_null=True)


class DrawnPieceShape(Shape):
    """A piece of the sample, in the order of the draw; `counts_as` is the worst class found, or null."""

    piece = serializers.CharField(source="label")
    position = serializers.IntegerField()
    stage = serializers.IntegerField(help_text="2: measured only if the first sample does not decide.")
    stratum = serializers.CharField()
    shelf = serializers.ChoiceField(choices=VerdictCode.choices, allow_null=True)
    counts_as = serializers.ChoiceField(choices=CLASSES, allow_null=True)


class RestShape(Shape):
    """What the sample says of the rest; `claim` is the sentence that goes into a claim."""

    claim = serializers.CharField()
    left = serializers.CharField(help_text="For the shelf: of the pieces not measured at most so many.")
    agreed_quality = serializers.CharField(help_text="Empty when no quality was agreed on.")
    agreed_quality_careful = serializers.CharField()
    assumptions = serializers.ListField(child=serializers.CharField())
    confidence = serializers.FloatField()
    batch_size = serializers.IntegerField()
    inspected = serializers.IntegerField()
    out_beyond_doubt = serializers.IntegerField()
    not_in_beyond_doubt = serializers.IntegerField()
    at_least_out = serializers.IntegerField()
    at_most_out_among_left = serializers.IntegerField()
    chance_of_agreed_quality = serializers.FloatField(allow_null=True)
    chance_of_agreed_quality_careful = serializers.FloatField(allow_null=True)


class BatchDecisionShape(Shape):
    """What was decided of a batch, by whom and when."""

    outcome = serializers.ChoiceField(choices=BatchDecision.Outcome.choices)
    original = serializers.BooleanField()
    words = serializers.ListField(child=serializers.CharField(), source="document.words")
    decided_by = serializers.CharField(source="decided_by.username")
    decided_at = serializers.DateTimeField()


class SamplingShape(Shape):
    """The plan of a batch and, once drawn, its sample, how it stands and what it says."""

    batch = serializers.CharField()
    state = serializers.ChoiceField(choices=STATES)
    words = serializers.ListField(child=serializers.CharField())
    refused = serializers.CharField(help_text="Why there is no plan; else empty.")
    kind = serializers.ChoiceField(choices=SamplingScheme.Kind.choices, allow_null=True)
    batch_size = serializers.IntegerField(allow_null=True)
    first = serializers.IntegerField(allow_null=True, help_text="Pieces to measure at first.")
    most = serializers.IntegerField(allow_null=True, help_text="At most, with a second sample.")
    severity = serializers.CharField()
    why = serializers.ListField(child=serializers.CharField())
    notes = serializers.ListField(child=serializers.CharField())
    resting = serializers.ListField(child=serializers.CharField(), help_text="Points not measured.")
    classes = SampleClassShape(many=True)
    seed = serializers.CharField(allow_null=True)
    draw = serializers.CharField(allow_null=True)
    how_to_repeat = serializers.CharField()
    pieces = DrawnPieceShape(many=True)
    rest = RestShape(allow_null=True)
    decision = BatchDecisionShape(allow_null=True)


class SamplingOfBatch(Resource):
    points_at: ClassVar = {CannotDraw: "seed"}

    @extend_schema(responses=SamplingShape)
    def get(self, request: Request, batch: int) -> Response:
        """The plan that follows for a batch, or its sample once drawn."""
        return self.shown(_sampling(found_batch(batch)), SamplingShape)

    @extend_schema(request=NewSample, responses={201: SamplingShape})
    def post(self, request: Request, batch: int) -> Response:
        """Draw the sample of a batch, once."""
        sent = self.body(NewSample)
        there = found_batch(batch)
        draw_sample(batch=there, by=self.person, at=timezone.now(), **sent)
        return self.shown(_sampling(there), SamplingShape, status=201)


class DecisionOnBatch(Resource):
    @extend_schema(request=NewBatchDecision, responses={201: SamplingShape})
    def post(self, request: Request, batch: int) -> Response:
        """Accept or refuse a batch as its sample says."""
        sent = self.body(NewBatchDecision)
        there = found_batch(batch)
        decide_batch(batch=there, by=self.person, at=timezone.now(), **sent)
        return self.shown(_sampling(there), SamplingShape, status=201)


def _sampling(batch: Batch) -> Json:
    sampling = sampling_of(batch)
    return _plan(batch) if sampling is None else _sample(batch, sampling)


def _plan(batch: Batch) -> Json:
    proposal = proposal_for(batch)
    plan = proposal.plan
    state = "none" if plan is None else "every piece" if plan.every_piece else "plan"
    return {
        **_of_plan(batch, plan, {}),
        "state": state,
        "words": [proposal.earned_words],
        "refused": proposal.refused,
        "seed": None,
        "draw": None,
        "how_to_repeat": "",
        "pieces": [],
        "rest": None,
        "decision": None,
    }


def _sample(batch: Batch, sampling: BatchSampling) -> Json:
    standing = standing_of_sample(batch, sampling)
    decided = standing.decided
    return {
        **_of_plan(batch, standing.plan, standing.classes),
        "state": "every piece" if standing.decision is None else standing.decision.value,
        "words": standing.words if decided is None else decided.document["words"],
        "refused": "",
        "seed": sampling.seed,
        "draw": sampling.document["draw"],
        "how_to_repeat": sampling.document["how_to_repeat"],
        "pieces": [
            {
                "label": piece.label,
                "position": piece.position,
                "stage": piece.stage,
                "stratum": piece.stratum,
                "shelf": piece.shelf or None,
                "counts_as": piece.worst.value if piece.worst else None,
            }
            for piece in standing.drawn
        ],
        "rest": rest_of(standing),
        "decision": decided,
    }


def _of_plan(batch: Batch, plan: BatchPlan | None, found: Any) -> Json:  # Any: Running by class
    if plan is None:
        nothing: Json = dict.fromkeys(("kind", "batch_size", "first", "most"))
        lists: Json = {"why": [], "notes": [], "resting": [], "classes": []}
        return {"batch": batch.label, **nothing, "severity": "", **lists}
    return {
        "batch": batch.label,
        "kind": plan.kind,
        "batch_size": plan.batch_size,
        "first": plan.first,
        "most": plan.most,
        "severity": plan.severity,
        "why": plan.why,
        "notes": plan.notes,
        "resting": plan.resting,
        "classes": [_of_class(one, its, found.get(one)) for one, its in plan.classes.items()],
    }


def _of_class(one: DefectClass, its: ClassPlan, found: Running | None) -> Json:
    return {
        "name": one.value,
        "aql": None if its.aql is None else str(its.aql),
        "severity": its.severity,
        "letter": its.letter,
        "pieces": its.plan.size,
        "accept": its.plan.accept,
        "reject": its.plan.reject,
        "accept_first": getattr(its.plan, "accept_first", None),
        "reject_first": getattr(its.plan, "reject_first", None),
        "why": its.why,
        "inspected": None if found is None else found.inspected,
        "bad": None if found is None else found.bad,
    }
