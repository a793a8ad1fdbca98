"""Styles and their points, and the catalogue they start from."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from django.db.models import Count, OuterRef, Prefetch, Q, Subquery

from inventory import catalogue
from inventory.models import CataloguePoint, MeasurePoint, Spec, Style

if TYPE_CHECKING:
    from django.db.models import QuerySet


@dataclass(frozen=True, slots=True)
class StyleLine:
    """A style in the list, with how many points it has and which revisions stand."""

    style: Style
    points: int
    in_force: int | None
    draft: int | None


@dataclass(frozen=True, slots=True)
class Offer:
    """A catalogue point a new style of a family may start with; `core` ones are ticked beforehand."""

    point: CataloguePoint
    core: bool


def style_lines(*, with_retired: bool = False) -> list[StyleLine]:
    """All styles by code, in one query; those out of use only when asked for."""

    def revision(state: str) -> Subquery:
        found = Spec.objects.filter(style=OuterRef("pk"), state=state)
        return Subquery(found.order_by("-revision").values("revision")[:1])

    styles = Style.objects.annotate(
        points_read=Count("points", filter=Q(points__is_active=True)),
        in_force=revision(Spec.State.IN_FORCE),
        draft=revision(Spec.State.DRAFT),
    ).order_by("code")
    if not with_retired:
        styles = styles.filter(is_active=True)
    return [StyleLine(style, style.points_read, style.in_force, style.draft) for style in styles]


def styles(*, with_retired: bool = False) -> QuerySet[Style]:
    """All styles with their points in walk order and their revisions: three statements."""
    found = Style.objects.prefetch_related("points", Prefetch("specs", Spec.objects.order_by("revision")))
    return found if with_retired else found.filter(is_active=True)


def style_by_code(code: str) -> Style | None:
    """A style by its code, in whatever case it was typed."""
    return Style.objects.filter(code__iexact=code).first()


def points_of(style: Style) -> QuerySet[MeasurePoint]:
    """All points of a style in walk order, retired ones last."""
    return style.points.select_related("known_error__study").order_by("-is_active", "position", "id")


def offers_for(family: str) -> list[Offer]:
    """The shop's catalogue points for a family: those the family shows, and those the shop added itself."""
    shipped = {point.code for point in catalogue.POINTS if point.group == catalogue.FAMILIES[family].group}
    known = {point.code for point in catalogue.points_of(family)}
    core = {point.code for point in catalogue.core_points(family)}
    rows = CataloguePoint.objects.filter(group=catalogue.FAMILIES[family].group).order_by("position", "id")
    return [
        Offer(point, core=point.code in core)
        for point in rows
        if point.code in known or point.code not in shipped
    ]
