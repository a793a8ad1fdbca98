"""Makers, styles, specs, people and tapes, found by the names a file uses for them."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from typing import TYPE_CHECKING

from inventory.models import Instrument, Maker, MeasurePoint, Spec, Style, User
from inventory.queries.destinations import destination
from inventory.queries.plans import SpecPlans, plans_of_spec
from inventory.queries.taken import deciding_plans
from inventory.services.importing.namesakes import People
from inventory.services.importing.roles import KnownPoint

if TYPE_CHECKING:
    from inventory.calc.plan import PointPlan
    from inventory.models import Batch, Delivery


class Books:
    """Everything a file may refer to, fetched once; names are compared without case."""

    def __init__(self, who: Mapping[str, str] | None = None) -> None:
        """`who`: user names by names of the file that could not be told, empty for nobody here."""
        self.makers: dict[str, Maker] = {}
        for maker in Maker.objects.all():
            self.makers.setdefault(maker.name.casefold(), maker)
        self.makers |= {maker.code.casefold(): maker for maker in Maker.objects.all()}
        self.styles: dict[str, Style] = {}
        for style in Style.objects.all():
            self.styles.setdefault(style.name.casefold(), style)
        self.styles |= {style.code.casefold(): style for style in Style.objects.all()}
        self.tapes = {tape.number.casefold(): tape for tape in Instrument.objects.all()}
        self.people = People(User.objects.order_by("pk"))
        self.who: Mapping[str, str] = who or {}
        self._specs = {
            (spec.style_id, spec.revision): spec
            for spec in Spec.objects.exclude(state=Spec.State.DRAFT).select_related("style")
        }
        self._in_force = {
            spec.style_id: spec for spec in self._specs.values() if spec.state == Spec.State.IN_FORCE
        }
        self._plans: dict[int, SpecPlans] = {}
        self._sizes: dict[tuple[int, str], str | None] = {}
        self._deciding: dict[tuple[int, str], dict[str, PointPlan]] = {}

    def spec(self, style: Style, revision: str) -> Spec | None:
        """The named revision of a style, or the one in force for an empty name; None when there is none."""
        if not revision:
            return self._in_force.get(style.pk)
        number = re.fullmatch(r"\D*(\d{1,4})(?:\.0)?", revision)
        return self._specs.get((style.pk, int(number[1]))) if number else None

    def revisions(self, style: Style) -> list[int]:
        """The revisions of a style that may judge pieces."""
        return sorted(revision for of_style, revision in self._specs if of_style == style.pk)

    def destination(self, label: str) -> Delivery | Batch | None:
        """The delivery or batch that pieces are to be added to; None for an empty or unknown label."""
        return destination(label) if label else None

    def plans(self, spec: Spec) -> SpecPlans:
        """What the revision asks of each point in each size."""
        if spec.pk not in self._plans:
            self._plans[spec.pk] = plans_of_spec(spec)
        return self._plans[spec.pk]

    def deciding(self, spec: Spec, size: str) -> dict[str, PointPlan]:
        """The plans of a size that a verdict hangs on."""
        key = (spec.pk, size)
        if key not in self._deciding:
            self._deciding[key] = deciding_plans(self.plans(spec), size)
        return self._deciding[key]

    def size(self, spec: Spec, text: str) -> str | None:
        """The spec's own label for a size as the file writes it; None when it has no such size."""
        key = (spec.pk, text)
        if key not in self._sizes:
            labels = self.plans(spec).by_size
            close = {label.casefold().replace(" ", ""): label for label in labels}
            plain = text.casefold().replace(" ", "").removeprefix("size")
            self._sizes[key] = (
                text if text in labels else close.get(plain) or close.get(plain.removesuffix(".0"))
            )
        return self._sizes[key]


def known_points(styles: Iterable[Style] | None = None) -> list[KnownPoint]:
    """The points that columns may hold readings of: of these styles, or of all that are active."""
    points = MeasurePoint.objects.filter(style__is_active=True).order_by("-is_active", "position", "pk")
    if styles is not None:
        points = points.filter(style__in=list(styles))
    found: dict[str, KnownPoint] = {}
    for point in points:
        known = found.get(point.code)
        sides = point.sides_read if known is None else tuple(dict.fromkeys((*known.sides, *point.sides_read)))
        found[point.code] = KnownPoint(point.code, point.name if known is None else known.name, sides)
    return list(found.values())
