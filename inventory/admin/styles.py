"""Styles with their points."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from django.contrib import admin
from django.forms import ModelForm
from django.http import HttpRequest

from inventory.admin.audited import TYPED_LENGTHS, AuditedAdmin, NamedInline, NeverDeleted, shown_length
from inventory.models import MeasurePoint, Style
from inventory.services.points import FIXED_ONCE_IN_USE, is_in_use

if TYPE_CHECKING:
    from django.db.models import QuerySet

    MeasurePointForm = ModelForm[MeasurePoint]
else:
    MeasurePointForm = ModelForm


class PointInline(NeverDeleted, NamedInline):
    """The walk at a glance; a point's own page has its words."""

    model = MeasurePoint
    fields = ("position", "code", "name", "kind", "sides", "is_active")
    readonly_fields = ("code", "name", "kind", "sides")
    show_change_link = True
    extra = 0

    def has_add_permission(self, request: HttpRequest, obj: Any = None) -> bool:  # noqa: ARG002  # Any: Django's own
        """Points are added on their own page, where all nine words are asked for."""
        return False


@admin.register(Style)
class StyleAdmin(NeverDeleted, AuditedAdmin):
    list_display = ("code", "name", "family", "contains_metal", "is_active")
    list_filter = ("family", "is_active", "contains_metal")
    search_fields = ("code", "name")

    def get_readonly_fields(self, request: HttpRequest, obj: Any = None) -> tuple[str, ...]:  # noqa: ARG002  # Any: Django's own
        """The family stays once the style is made: its points hang on it."""
        return () if obj is None else ("family",)

    def get_inlines(self, request: HttpRequest, obj: Any) -> tuple[type[PointInline], ...]:  # noqa: ARG002  # Any: Django's own
        """Points come once there is a style to read them on."""
        return () if obj is None else (PointInline,)


@admin.register(MeasurePoint)
class MeasurePointAdmin(NeverDeleted, AuditedAdmin):
    list_display = (
        "code",
        "name",
        "style",
        "position",
        "kind",
        "sides",
        "is_active",
        shown_length("same_person_sd_nm", "one person"),
        shown_length("two_people_sd_nm", "between people"),
    )
    list_filter = ("style", "kind", "is_active")
    list_select_related = ("style",)
    search_fields = ("code", "name", "style__code", "style__name")
    formfield_overrides = TYPED_LENGTHS

    def get_queryset(self, request: HttpRequest) -> QuerySet[MeasurePoint]:
        found: QuerySet[MeasurePoint] = super().get_queryset(request)
        return found

    def get_readonly_fields(self, request: HttpRequest, obj: Any = None) -> tuple[str, ...]:  # noqa: ARG002  # Any: Django's own
        """What a frozen spec or a reading stands on cannot be changed under it."""
        if obj is None:
            return ()
        return ("style", *FIXED_ONCE_IN_USE) if is_in_use(obj) else ("style",)
