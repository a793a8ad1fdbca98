"""Start a style from the catalogue, and change what is said of it."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, TypedDict, Unpack

from django.db import transaction

from inventory import catalogue
from inventory.access import Deed, require
from inventory.models import CataloguePoint, MeasurePoint, Style
from inventory.models.points import PointWords
from inventory.services.audit import leave_row
from inventory.services.changes import changed_row
from inventory.services.refusals import Refused

if TYPE_CHECKING:
    import datetime as dt

    from inventory.models import User

WORDS: tuple[str, ...] = tuple(
    field.name
    for field in PointWords._meta.get_fields()  # noqa: SLF001  # Django's public face of a model
)
"""The names of all that a catalogue point and a style's point have in common."""


class StyleCodeTaken(Refused):
    """Two styles cannot share a code."""


class NoPointChosen(Refused):
    """A style without a point of measure cannot be measured."""


class PointNotInCatalogue(Refused):
    """A code was chosen that the shop's catalogue does not have for this kind of garment."""


class StyleValues(TypedDict, total=False):
    """What can be changed of a style; its family stays, as its points hang on it."""

    code: str
    name: str
    contains_metal: bool
    note: str
    is_active: bool


@transaction.atomic
def start_style(
    *,
    code: str,
    name: str,
    family: str,
    point_codes: Sequence[str],
    contains_metal: bool = False,
    note: str = "",
    by: User,
    at: dt.datetime,
) -> Style:
    """Make a style with copies of the chosen catalogue points, in the catalogue's order of the tape.

    Raises `StyleCodeTaken`, `NoPointChosen`, `PointNotInCatalogue`; `ValidationError` for a bad value.
    """
    require(by, Deed.SET_UP)
    style = Style(code=code, name=name, family=family, contains_metal=contains_metal, note=note)
    style.full_clean(validate_unique=False)
    _check_code_is_free(style)
    chosen = _catalogue_points(family, point_codes)
    style.save()
    MeasurePoint.objects.bulk_create(
        MeasurePoint(style=style, position=position, **{word: getattr(point, word) for word in WORDS})
        for position, point in enumerate(chosen, start=1)
    )
    leave_row(
        who=by,
        deed="start style",
        subject=style,
        at=at,
        family=family,
        points=[point.code for point in chosen],
    )
    return style


@transaction.atomic
def change_style(*, style: Style, by: User, at: dt.datetime, **values: Unpack[StyleValues]) -> Style:
    """Change a style's code, name, note or use. Raises `StyleCodeTaken`, `ValidationError`."""
    require(by, Deed.SET_UP)
    stored, changed = changed_row(style, dict(values))
    if changed:
        _check_code_is_free(stored)
        # Never the count of point changes: it goes up in the database, perhaps at the same time.
        stored.save(update_fields=list(changed))
        leave_row(who=by, deed="change style", subject=stored, at=at, changed=changed)
    return stored


def _catalogue_points(family: str, codes: Sequence[str]) -> list[CataloguePoint]:
    if not codes:
        raise NoPointChosen(
            "No point of measure is chosen. Tick at least one; others can be added later.",
            field="point_codes",
        )
    group = catalogue.FAMILIES[family].group
    by_code = {point.code: point for point in CataloguePoint.objects.filter(group=group)}
    for code in codes:
        if code not in by_code:
            garments = catalogue.FAMILIES[family].name.lower()
            raise PointNotInCatalogue(
                f"The catalogue has no point {code!r} for {garments} garments. "
                f"Choose from {', '.join(by_code)}.",
                field="point_codes",
            )
    return sorted({by_code[code] for code in codes}, key=lambda point: (point.position, point.pk))


def _check_code_is_free(style: Style) -> None:
    other = Style.objects.filter(code__iexact=style.code).exclude(pk=style.pk).first()
    if other is not None:
        raise StyleCodeTaken(
            f"Code {style.code!r} belongs to {other.name}. Type another code, or open that style.",
            field="code",
        )
