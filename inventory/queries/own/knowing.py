"""How much of each style's reading error is known, and how much is still planned."""

from __future__ import annotations

from dataclasses import dataclass

from django.db.models import Count, Q

from inventory.models import PointError, Style


@dataclass(frozen=True, slots=True)
class Knowing:
    """Points of a style by where their reading error comes from."""

    style: Style
    by_study: int
    stated: int
    planned: int


def knowing_by_style() -> list[Knowing]:
    """Every style in use that has points, by code; one statement."""
    active = Q(points__is_active=True)
    origin = "points__known_error__origin"
    styles = (
        Style.objects.filter(is_active=True, points__is_active=True)
        .annotate(
            by_study=Count("points", filter=active & Q(**{origin: PointError.Origin.STUDY}), distinct=True),
            stated=Count("points", filter=active & Q(**{origin: PointError.Origin.STATED}), distinct=True),
            planned=Count("points", filter=active & Q(points__known_error__isnull=True), distinct=True),
        )
        .order_by("code")
    )
    return [Knowing(style, style.by_study, style.stated, style.planned) for style in styles]


def error_source(error: PointError | None) -> str:
    """Where a point's reading error comes from, in words."""
    if error is None:
        return "planning value"
    if error.study is not None:
        return f"study {error.study.label}"
    return "stated by the owner"
