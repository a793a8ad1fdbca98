"""Specs: a draft can be filled in here, a frozen revision only looked at."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from django.contrib import admin

from inventory.admin.audited import TYPED_LENGTHS, AuditedAdmin, NamedInline, shown_length
from inventory.models import Spec, SpecCell, SpecPoint, SpecSize

if TYPE_CHECKING:
    from django.db import models
    from django.forms.models import ModelChoiceField
    from django.http import HttpRequest

_CELL_LENGTHS = {
    "nominal_nm": shown_length("nominal_nm", "nominal"),
    "tolerance_minus_nm": shown_length("tolerance_minus_nm", "minus"),
    "tolerance_plus_nm": shown_length("tolerance_plus_nm", "plus"),
}
_POINT_LENGTHS = {
    "asymmetry_limit_nm": shown_length("asymmetry_limit_nm", "left-right limit"),
    "favourable_limit_nm": shown_length("favourable_limit_nm", "limit on the favourable side"),
    "grade_step_nm": shown_length("grade_step_nm", "grade step"),
}


def is_frozen(row: Any) -> bool:  # Any: a spec, or a row of one
    """Whether the revision this belongs to has been in force."""
    if row is None:
        return False
    return bool(row.is_frozen if isinstance(row, Spec) else row.whole_spec.is_frozen)


class OnlyWhileDraft:
    """Rows that may be added, changed and deleted while the revision is a draft, and looked at ever after."""

    def has_add_permission(self, request: HttpRequest, obj: Any = None) -> bool:  # noqa: ARG002  # Any: Django's own
        return not is_frozen(obj)

    def has_change_permission(self, request: HttpRequest, obj: Any = None) -> bool:  # noqa: ARG002  # Any: Django's own
        return not is_frozen(obj)

    def has_delete_permission(self, request: HttpRequest, obj: Any = None) -> bool:  # noqa: ARG002  # Any: Django's own
        return obj is not None and not is_frozen(obj)


class SizeInline(OnlyWhileDraft, NamedInline):
    model = SpecSize
    fields = ("position", "label")
    extra = 0


class SpecPointInline(OnlyWhileDraft, NamedInline):
    """How each point is judged; its cells are on its own page."""

    model = SpecPoint
    formfield_overrides = TYPED_LENGTHS
    show_change_link = True
    extra = 0

    def get_queryset(self, request: HttpRequest) -> models.QuerySet[SpecPoint]:
        return super().get_queryset(request).select_related("point", "spec__style")

    def get_fields(self, request: HttpRequest, obj: Any = None) -> tuple[Any, ...]:  # noqa: ARG002  # Any: Django's own
        lengths = tuple(_POINT_LENGTHS.values() if is_frozen(obj) else _POINT_LENGTHS)
        return ("point", "basis", "favourable_side", *lengths)

    def get_readonly_fields(self, request: HttpRequest, obj: Any = None) -> tuple[Any, ...]:  # noqa: ARG002  # Any: Django's own
        return tuple(_POINT_LENGTHS.values()) if is_frozen(obj) else ()


class CellInline(OnlyWhileDraft, NamedInline):
    model = SpecCell
    formfield_overrides = TYPED_LENGTHS
    extra = 0

    def get_queryset(self, request: HttpRequest) -> models.QuerySet[SpecCell]:
        return (
            super()
            .get_queryset(request)
            .select_related("size", "spec_point__point", "spec_point__spec__style")
        )

    def get_fields(self, request: HttpRequest, obj: Any = None) -> tuple[Any, ...]:  # noqa: ARG002  # Any: Django's own
        return ("size", *(_CELL_LENGTHS.values() if is_frozen(obj) else _CELL_LENGTHS))

    def get_readonly_fields(self, request: HttpRequest, obj: Any = None) -> tuple[Any, ...]:  # noqa: ARG002  # Any: Django's own
        return tuple(_CELL_LENGTHS.values()) if is_frozen(obj) else ()


@admin.register(Spec)
class SpecAdmin(OnlyWhileDraft, AuditedAdmin):
    """Drafted, revised, discarded and put in force on the spec pages, which check what must hold."""

    list_display = ("style", "revision", "state", "unit_of_record", "base_size", "author", "in_force_at")
    list_filter = ("state", "style", "unit_of_record")
    list_select_related = ("style", "author")
    search_fields = ("style__code", "style__name", "reason")
    fields = (
        "style",
        "revision",
        "state",
        "unit_of_record",
        "base_size",
        "reason",
        "author",
        "created_at",
        "in_force_at",
        "superseded_at",
    )
    readonly_fields = (
        "style",
        "revision",
        "state",
        "author",
        "created_at",
        "in_force_at",
        "superseded_at",
    )
    inlines = (SizeInline, SpecPointInline)

    def has_add_permission(self, request: HttpRequest, obj: Any = None) -> bool:  # noqa: ARG002  # Any: Django's own
        return False

    def has_delete_permission(self, request: HttpRequest, obj: Any = None) -> bool:  # noqa: ARG002  # Any: Django's own
        return False


@admin.register(SpecPoint)
class SpecPointAdmin(OnlyWhileDraft, AuditedAdmin):
    """One point of a revision with its cells, size by size."""

    list_display = ("spec", "point", "basis", *_POINT_LENGTHS.values())
    list_filter = ("spec__state", "spec__style")
    list_select_related = ("spec__style", "point")
    search_fields = ("point__code", "point__name", "spec__style__code")
    inlines = (CellInline,)

    def has_add_permission(self, request: HttpRequest, obj: Any = None) -> bool:  # noqa: ARG002  # Any: Django's own
        """Rows are added on the page of their revision."""
        return False

    def get_fields(self, request: HttpRequest, obj: Any = None) -> tuple[Any, ...]:  # noqa: ARG002  # Any: Django's own
        lengths = tuple(_POINT_LENGTHS.values() if is_frozen(obj) else _POINT_LENGTHS)
        return ("spec", "point", "basis", "favourable_side", *lengths)

    def get_readonly_fields(self, request: HttpRequest, obj: Any = None) -> tuple[Any, ...]:  # noqa: ARG002  # Any: Django's own
        return ("spec", "point", *(_POINT_LENGTHS.values() if is_frozen(obj) else ()))

    def get_formsets_with_inlines(self, request: HttpRequest, obj: Any = None) -> Any:  # Any: Django's own
        """Offer only the sizes of this revision."""
        for formset, inline in super().get_formsets_with_inlines(request, obj):
            size: ModelChoiceField[SpecSize] | None = formset.form.base_fields.get("size")
            if size is not None and obj is not None:
                size.queryset = SpecSize.objects.filter(spec=obj.spec_id)
            yield formset, inline
