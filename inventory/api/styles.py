"""Styles with their points of measure, and what their spec revisions say; they are set up on screen."""

from __future__ import annotations

from typing import TYPE_CHECKING

from drf_spectacular.utils import extend_schema
from rest_framework import serializers

from inventory.api.frame.resource import Resource, found
from inventory.api.frame.shapes import LengthField, Shape
from inventory.api.makers import WithRetired
from inventory.models import Spec, Style
from inventory.models.points import Basis, FavourableSide, Kind, Sides
from inventory.models.shop import LengthUnit
from inventory.queries import specs as ask_specs
from inventory.queries import styles as ask

if TYPE_CHECKING:
    from rest_framework.request import Request
    from rest_framework.response import Response


class PointShape(Shape):
    """One point of measure: the nine words that define it, and how well it can be read."""

    code = serializers.CharField()
    name = serializers.CharField()
    position = serializers.IntegerField(help_text="Place in the walk of the tape.")
    measured_from = serializers.CharField()
    measured_to = serializers.CharField()
    path = serializers.CharField()
    level = serializers.CharField()
    state = serializers.CharField()
    face = serializers.CharField()
    kind = serializers.ChoiceField(choices=Kind.choices)
    sides = serializers.ChoiceField(choices=Sides.choices)
    sides_read = serializers.ListField(
        child=serializers.CharField(), help_text="Codes to read: L and R as worn, or S."
    )
    informational = serializers.BooleanField(help_text="Read and kept, but no verdict hangs on it.")
    pitfalls = serializers.CharField()
    same_person_sd = LengthField(source="same_person_sd_nm", help_text="Spread of one person's repeats.")
    two_people_sd = LengthField(source="two_people_sd_nm", help_text="Spread between people.")
    is_active = serializers.BooleanField()


class SpecLine(Shape):
    """A numbered revision of a style's spec."""

    id = serializers.IntegerField()
    revision = serializers.IntegerField()
    state = serializers.ChoiceField(choices=Spec.State.choices)


class StyleShape(Shape):
    """A style, its points in walk order and its spec revisions."""

    code = serializers.CharField()
    name = serializers.CharField()
    family = serializers.ChoiceField(choices=Style.Family.choices)
    contains_metal = serializers.BooleanField()
    note = serializers.CharField()
    is_active = serializers.BooleanField()
    points = PointShape(source="points.all", many=True)
    specs = SpecLine(source="specs.all", many=True)


class CellShape(Shape):
    """One point in one size; the nominal as read, per half for a half girth."""

    size = serializers.CharField()
    nominal = LengthField()
    tolerance_minus = LengthField()
    tolerance_plus = LengthField()


class SpecRow(Shape):
    """How one point is judged in this revision."""

    point = serializers.CharField()
    basis = serializers.ChoiceField(
        choices=Basis.choices, allow_null=True, help_text="What the tolerance is stated for."
    )
    asymmetry_limit = LengthField(allow_null=True, help_text="Left against right; null: none.")
    favourable_side = serializers.ChoiceField(choices=FavourableSide.choices)
    favourable_limit = LengthField(allow_null=True)
    grade_step = LengthField(allow_null=True)
    cells = CellShape(many=True)


class SpecShape(Shape):
    """A revision as it is printed: sizes across, points down in walk order."""

    id = serializers.IntegerField()
    style = serializers.CharField()  # type: ignore[assignment]  # a name of ours
    revision = serializers.IntegerField()
    state = serializers.ChoiceField(choices=Spec.State.choices)
    unit_of_record = serializers.ChoiceField(choices=LengthUnit.choices)
    base_size = serializers.CharField()
    reason = serializers.CharField()
    author = serializers.CharField()
    created_at = serializers.DateTimeField()
    in_force_at = serializers.DateTimeField(allow_null=True)
    superseded_at = serializers.DateTimeField(allow_null=True)
    sizes = serializers.ListField(child=serializers.CharField())
    rows = SpecRow(many=True)


class Styles(Resource):
    @extend_schema(parameters=[WithRetired], responses=StyleShape(many=True))
    def get(self, request: Request) -> Response:
        """All styles."""
        return self.page(ask.styles(**self.wanted(WithRetired)), StyleShape)


class OneStyle(Resource):
    @extend_schema(responses=StyleShape)
    def get(self, request: Request, code: str) -> Response:
        """One style by its code."""
        return self.shown(found_style(code), StyleShape)


class OneSpec(Resource):
    @extend_schema(responses=SpecShape)
    def get(self, request: Request, pk: int) -> Response:
        """One spec revision with all its figures."""
        spec = found(ask_specs.spec_for_reading(pk), f"There is no spec {pk}. A style names its own.")
        return self.shown(_as_shown(ask_specs.sheet_of(spec)), SpecShape)


def found_style(code: str) -> Style:
    """The style of this code, or a 404."""
    return found(ask.style_by_code(code), f"There is no style with the code {code!r}.")


def _as_shown(sheet: ask_specs.SpecSheet) -> dict[str, object]:
    spec = sheet.spec
    own = ("id", "revision", "state", "unit_of_record", "base_size", "reason", "created_at", "in_force_at")
    return {
        **{name: getattr(spec, name) for name in (*own, "superseded_at")},
        "style": spec.style.code,
        "author": spec.author.username,
        "sizes": sheet.sizes,
        "rows": [_row_shown(row, sheet.sizes) for row in sheet.rows],
    }


def _row_shown(row: ask_specs.SheetRow, sizes: tuple[str, ...]) -> dict[str, object]:
    rule = row.spec_point
    return {
        "point": row.point.code,
        "basis": None if rule is None else rule.basis,
        "asymmetry_limit": None if rule is None else rule.asymmetry_limit_nm,
        "favourable_side": "" if rule is None else rule.favourable_side,
        "favourable_limit": None if rule is None else rule.favourable_limit_nm,
        "grade_step": None if rule is None else rule.grade_step_nm,
        "cells": [
            {
                "size": size,
                "nominal": cell.nominal_nm,
                "tolerance_minus": cell.minus_nm,
                "tolerance_plus": cell.plus_nm,
            }
            for size, cell in zip(sizes, row.cells, strict=True)
            if cell is not None
        ],
    }
