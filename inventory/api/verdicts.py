"""Verdicts with all they were judged on: limits, uncertainty, guard bands, rules and their versions."""

from __future__ import annotations

from collections import defaultdict
from typing import TYPE_CHECKING, Any

from drf_spectacular.utils import extend_schema, extend_schema_field
from rest_framework import serializers

from inventory.api.batches import found_batch
from inventory.api.frame.inputs import Filters, LabelFilter, OneOf
from inventory.api.frame.resource import Resource, found
from inventory.api.frame.shapes import LengthField, Shape, UncertaintyField
from inventory.api.frame.words import VerdictWords
from inventory.api.pieces import found_piece
from inventory.calc.conformity import read_rule
from inventory.calc.plan import Aspect
from inventory.converters import BatchConverter, PieceConverter
from inventory.models import DecisionRule
from inventory.models.verdicts import VerdictCode
from inventory.queries import verdicts as ask
from inventory.queries.maker_spreads import spreads_before
from inventory.queries.pieces import current_verdict
from inventory.queries.verdict_risks import risks_of

if TYPE_CHECKING:
    from rest_framework.request import Request
    from rest_framework.response import Response

    from inventory.calc.judging import Finding
    from inventory.models import PieceVerdict
    from inventory.queries.verdict_risks import FindingRisk

ASPECTS = [
    (Aspect.LEFT.value, "left, as worn"),
    (Aspect.RIGHT.value, "right, as worn"),
    (Aspect.SINGLE.value, "single"),
    (Aspect.FULL.value, "full girth"),
    (Aspect.PAIR.value, "left minus right"),
]


class RuleShape(Shape):
    """A decision rule as it stood: guard band = multiplier x standard uncertainty."""

    code = serializers.CharField()
    version = serializers.IntegerField()
    purpose = serializers.ChoiceField(choices=DecisionRule.Purpose.choices)
    kind = serializers.SerializerMethodField(help_text="What the multiplier comes from.")
    risk = serializers.SerializerMethodField(help_text="Share of wrong verdicts at a limit; only by risk.")
    multiplier = serializers.CharField(help_text="An exact decimal.")
    max_repeats = serializers.IntegerField()
    at_the_end = serializers.ChoiceField(choices=DecisionRule.AtTheEnd.choices)
    in_words = serializers.SerializerMethodField(help_text="The guard band in a sentence.")

    @extend_schema_field(serializers.ChoiceField(choices=DecisionRule.Kind.choices))
    def get_kind(self, document: dict[str, Any]) -> str:  # Any: JSON
        return read_rule(document).kind

    @extend_schema_field(serializers.CharField(allow_null=True))
    def get_risk(self, document: dict[str, Any]) -> str | None:  # Any: JSON
        risk = read_rule(document).risk
        return None if risk is None else str(risk)

    def get_in_words(self, document: dict[str, Any]) -> str:  # Any: JSON
        return read_rule(document).in_words


class RiskShape(Shape):
    """How sure a finding is: chances from 0 to 1 (JCGM 106, specific risk)."""

    in_tolerance = serializers.FloatField(source="alone.in_tolerance", help_text="By the readings alone.")
    wrong = serializers.FloatField(
        source="alone.wrong", allow_null=True, help_text="That the shelf verdict is wrong; none if too close."
    )
    in_tolerance_knowing_maker = serializers.FloatField(
        source="with_maker.in_tolerance",
        default=None,
        allow_null=True,
        help_text="Weighed with the maker's earlier batches; none while fewer than 8 pieces are known.",
    )
    wrong_knowing_maker = serializers.FloatField(source="with_maker.wrong", default=None, allow_null=True)
    pieces_known = serializers.IntegerField(
        source="known.pieces", default=0, help_text="Judged pieces of the maker's earlier batches."
    )
    degrees_of_freedom = serializers.IntegerField(
        source="sure.dof", allow_null=True, help_text="Behind the uncertainty; none: a planning value."
    )
    sentence = serializers.CharField(source="alone.sentence")


class FindingShape(Shape):
    """One aspect of one point: what was found, what was asked for, and how sure it is."""

    aspect = serializers.ChoiceField(choices=ASPECTS)
    value = LengthField(source="value_nm", help_text="Mean of the readings.")
    nominal = LengthField(source="nominal_nm")
    deviation = LengthField(source="deviation_nm", signed=True, help_text="Value minus nominal.")
    lower = LengthField(source="lower_nm", help_text="Lowest value in tolerance.")
    upper = LengthField(source="upper_nm", help_text="Highest value in tolerance.")
    uncertainty = UncertaintyField(source="u_nm", help_text="Standard uncertainty of the value.")
    readings = serializers.IntegerField()
    shelf = serializers.ChoiceField(choices=VerdictCode.choices)
    shelf_words = VerdictWords("shelf")
    shelf_guard = UncertaintyField(source="shelf_guard_nm", help_text="Guard band of the shelf rule.")
    claim = serializers.ChoiceField(choices=VerdictCode.choices)
    claim_words = VerdictWords("claim")
    claim_guard = UncertaintyField(source="claim_guard_nm", help_text="Guard band of the claim rule.")
    beyond = LengthField(source="beyond_nm", help_text="How far outside its limits; 0: not at all.")
    deciding = serializers.BooleanField(help_text="Whether the verdict of the piece hangs on it.")
    by_final_rule = serializers.BooleanField(
        help_text="The readings were used up and the rule fixed in advance decided."
    )
    from_one_half = serializers.BooleanField(help_text="Twice one half, as the other was not read.")
    risk = serializers.SerializerMethodField(help_text="None where no verdict hangs on it.")

    @extend_schema_field(RiskShape(allow_null=True))
    def get_risk(self, finding: Finding) -> Any:  # Any: JSON
        risk = self.context["risks"].get(finding.aspect)
        return None if risk is None else RiskShape(risk, context=self.context).data


class PointFindings(Shape):
    """What was found at one point."""

    point = serializers.CharField()
    findings = FindingShape(many=True)


class VerdictLine(Shape):
    """A verdict in a list; its address shows what it was judged on."""

    id = serializers.IntegerField()
    piece = serializers.CharField(source="piece.label")
    inspection = serializers.IntegerField(source="inspection_id")
    is_current = serializers.BooleanField()
    shelf = serializers.ChoiceField(choices=VerdictCode.choices, help_text="What the shop accepts.")
    shelf_words = VerdictWords("shelf")
    claim = serializers.ChoiceField(choices=VerdictCode.choices, help_text="What it can prove.")
    claim_words = VerdictWords("claim")
    worst_point = serializers.CharField(help_text="Code of the point that decided.")
    worst_aspect = serializers.CharField()
    size_label = serializers.CharField(source="basis.size_label")
    size_suspected = serializers.BooleanField(help_text="Out on the label, but another size fits.")
    fits_size = serializers.CharField(help_text="The size that fits best; empty: none.")
    size_margin = LengthField(
        source="size_margin_nm", signed=True, allow_null=True, help_text="To the limit at the tightest point."
    )
    judged_by = serializers.CharField(source="judged_by.username")
    judged_at = serializers.DateTimeField()


class VerdictShape(VerdictLine):
    """A verdict with everything it was judged on, so that it can be derived again."""

    spec = serializers.IntegerField(source="basis.spec_id", help_text="See /specs/.")
    basis = serializers.CharField(source="basis.digest", help_text="SHA-256 of plans and rules together.")
    shelf_rule = RuleShape(source="basis.document.shelf_rule")
    claim_rule = RuleShape(source="basis.document.claim_rule")
    points = serializers.SerializerMethodField()

    @extend_schema_field(PointFindings(many=True))
    def get_points(self, verdict: PieceVerdict) -> Any:  # Any: JSON
        """The findings in walk order."""
        risks: defaultdict[str, dict[Aspect, FindingRisk]] = defaultdict(dict)
        for risk in risks_of(verdict, spreads_before(verdict.piece.batch)):
            risks[risk.code][risk.finding.aspect] = risk
        return [
            PointFindings(
                {"point": code, "findings": found}, context={**self.context, "risks": risks[code]}
            ).data
            for code, found in verdict.as_findings().items()
        ]


class VerdictFilters(Filters):
    batch = LabelFilter(BatchConverter)
    piece = LabelFilter(PieceConverter)
    shelf = OneOf(choices=VerdictCode.choices, required=False)
    claim = OneOf(choices=VerdictCode.choices, required=False)
    with_earlier = serializers.BooleanField(default=False, help_text="Also those a later one replaced.")


class Verdicts(Resource):
    @extend_schema(parameters=[VerdictFilters], responses=VerdictLine(many=True))
    def get(self, request: Request) -> Response:
        """Verdicts in the order in which they were given."""
        wanted = self.wanted(VerdictFilters)
        batch, piece = wanted.get("batch"), wanted.get("piece")
        listed = ask.verdicts_matching(
            batch=found_batch(BatchConverter().to_python(batch)) if batch else None,
            piece_number=found_piece(PieceConverter().to_python(piece)).number if piece else None,
            shelf=wanted.get("shelf", ""),
            claim=wanted.get("claim", ""),
            current_only=not wanted["with_earlier"],
        )
        return self.page(listed, VerdictLine)


class OneVerdict(Resource):
    @extend_schema(responses=VerdictShape)
    def get(self, request: Request, pk: int) -> Response:
        """One verdict with all it was judged on."""
        return self.shown(found(ask.verdict_by_id(pk), f"There is no verdict {pk}."), VerdictShape)


class CurrentVerdict(Resource):
    @extend_schema(responses=VerdictShape)
    def get(self, request: Request, piece: int) -> Response:
        """The verdict of a piece that counts now."""
        there = found_piece(piece)
        said = f"Piece {there.label} is not judged yet. Measure it and finish the inspection."
        return self.shown(found(current_verdict(there), said), VerdictShape)
