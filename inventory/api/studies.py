"""What our own studies found, and the budgets of points, to look up. A study is blind until it ends."""

from __future__ import annotations

from typing import TYPE_CHECKING

from drf_spectacular.utils import extend_schema
from rest_framework import serializers

from inventory.api.frame.inputs import Filters
from inventory.api.frame.resource import Resource, found
from inventory.api.frame.shapes import LengthField, Shape, UncertaintyField
from inventory.api.styles import found_style
from inventory.models import MeasurePoint, Study
from inventory.queries.own import studies as ask
from inventory.queries.own.budgets import PointBudget, budget_of
from inventory.queries.own.knowing import error_source
from inventory.queries.own.study_results import PointResult, results_of

if TYPE_CHECKING:
    from rest_framework.request import Request
    from rest_framework.response import Response

    from inventory.calc.gauge_study import Part


class StudyLine(Shape):
    """A person-to-person study and how far it is."""

    label = serializers.CharField()  # type: ignore[assignment]  # a name of ours
    style = serializers.CharField(source="style.code")  # type: ignore[assignment]  # a name of ours
    state = serializers.ChoiceField(choices=Study.State.choices)
    rounds = serializers.IntegerField()
    seed = serializers.IntegerField(help_text="The order of the turns follows from it.")
    note = serializers.CharField()
    planned_at = serializers.DateTimeField()
    ended_at = serializers.DateTimeField(allow_null=True)


class PartShape(Shape):
    """A part of the spread, as it is used; its estimate may have come out below zero."""

    name = serializers.CharField()
    sd = UncertaintyField(source="sd_nm")
    low = UncertaintyField(source="low_nm", help_text="Lower confidence limit, 95 %.")
    high = UncertaintyField(source="high_nm", help_text="Upper confidence limit, 95 %.")
    below_zero = serializers.BooleanField(help_text="The estimate came out below zero and is taken as none.")
    degrees_of_freedom = serializers.FloatField(allow_null=True, source="dof")
    percent_of_tolerance = serializers.FloatField(allow_null=True)


class PointOfStudy(Shape):
    """What a finished study says of one point; `refused` says why it says nothing."""

    point = serializers.CharField()
    refused = serializers.CharField()
    pooled = serializers.BooleanField(
        allow_null=True, help_text="Whether piece × person was pooled with the repeats."
    )
    parts = PartShape(many=True)
    groups = serializers.IntegerField(allow_null=True, help_text="Number of distinct categories.")
    technical_error = UncertaintyField(allow_null=True)
    notes = serializers.ListField(child=serializers.CharField())
    outlying = serializers.ListField(
        child=serializers.CharField(), help_text="Readings that lie too far from the others."
    )


class StudyShape(StudyLine):
    """A study; its points are empty until it is finished, for it is blind."""

    points = PointOfStudy(many=True)


class BudgetLine(Shape):
    """One part of the budget, for a single reading."""

    part = serializers.CharField()
    known_from = serializers.CharField()
    uncertainty = UncertaintyField()
    degrees_of_freedom = serializers.FloatField(allow_null=True)
    percent = serializers.FloatField(help_text="Share of the variance of one reading.")


class BudgetOutcome(Shape):
    """What comes of the parts for one thing that is told."""

    code = serializers.CharField(help_text="reading, mean, full or difference.")
    words = serializers.CharField()
    uncertainty = UncertaintyField(help_text="Combined standard uncertainty.")
    degrees_of_freedom = serializers.IntegerField(allow_null=True, help_text="Null: known well.")
    coverage_factor = serializers.FloatField()
    expanded = UncertaintyField(help_text="U, 95 %.")


class BudgetShape(Shape):
    """What a reading of a point may be off, part by part."""

    point = serializers.CharField()
    size = serializers.CharField(help_text="Empty: no spec is in force.")
    nominal = LengthField(allow_null=True)
    tape = serializers.CharField(help_text="Number of the tape; empty: none.")
    error_from = serializers.CharField(help_text="Where the point's reading error comes from.")
    lines = BudgetLine(many=True)
    outcomes = BudgetOutcome(many=True)
    not_counted = serializers.ListField(child=serializers.CharField())


class BudgetChoice(Filters):
    size = serializers.CharField(default="", allow_blank=True, max_length=12)
    readings = serializers.IntegerField(default=2, min_value=1, max_value=99)
    people = serializers.IntegerField(default=1, min_value=1, max_value=99)


class Studies(Resource):
    @extend_schema(responses=StudyLine(many=True))
    def get(self, request: Request) -> Response:
        """All person-to-person studies."""
        return self.page(Study.objects.select_related("style").order_by("pk"), StudyLine)


class OneStudy(Resource):
    @extend_schema(responses=StudyShape)
    def get(self, request: Request, number: int) -> Response:
        """One study; what it found, once it is finished."""
        study = found(ask.study_by_number(number), f"There is no study S{number:03d}.")
        finished = study.state == Study.State.FINISHED
        own = ("label", "style", "state", "rounds", "seed", "note", "planned_at", "ended_at")
        return self.shown(
            {
                **{name: getattr(study, name) for name in own},
                "points": [_point(result) for result in results_of(study)] if finished else [],
            },
            StudyShape,
        )


class BudgetOfPoint(Resource):
    @extend_schema(parameters=[BudgetChoice], responses=BudgetShape)
    def get(self, request: Request, code: str, point: str) -> Response:
        """The uncertainty budget of a point."""
        style = found_style(code)
        row = found(
            MeasurePoint.objects.select_related("style", "known_error__study")
            .filter(style=style, code__iexact=point)
            .first(),
            f"Style {style.code} has no point {point[:20]!r}.",
        )
        return self.shown(_budget(budget_of(row, **self.wanted(BudgetChoice))), BudgetShape)


def _point(result: PointResult) -> dict[str, object]:
    study = result.chosen
    return {
        "point": result.point.code,
        "refused": result.refused,
        "pooled": None if study is None else study.anova.pooled,
        "parts": [] if study is None else [_part(part) for part in study.parts],
        "groups": None if study is None else study.groups,
        "technical_error": None if study is None else study.tem_nm,
        "notes": [] if study is None else list(study.notes),
        "outlying": [f"{one.piece}, round {one.round}, by {one.person}" for one, _ in result.outlying],
    }


def _part(part: Part) -> dict[str, object]:
    shown = ("name", "sd_nm", "low_nm", "high_nm", "dof", "percent_of_tolerance")
    return {**{name: getattr(part, name) for name in shown}, "below_zero": part.estimated_nm2 < 0}


def _budget(table: PointBudget) -> dict[str, object]:
    return {
        "point": table.point.code,
        "size": table.size,
        "nominal": table.nominal_nm,
        "tape": table.tape.number if table.tape else "",
        "error_from": error_source(table.point.known_error),
        "lines": [
            {
                "part": line.part.name,
                "known_from": line.part.source,
                "uncertainty": line.part.u_nm,
                "degrees_of_freedom": line.part.dof,
                "percent": line.percent,
            }
            for line in table.lines
        ],
        "outcomes": [
            {
                "code": outcome.code,
                "words": outcome.words,
                "uncertainty": outcome.budget.u_nm,
                "degrees_of_freedom": outcome.budget.dof,
                "coverage_factor": outcome.budget.k,
                "expanded": outcome.budget.expanded_nm,
            }
            for outcome in table.outcomes
        ],
        "not_counted": list(table.gaps),
    }
