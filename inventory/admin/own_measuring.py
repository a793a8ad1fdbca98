"""Our own measuring: tape checks, check garments, studies and what they found. To look at only."""

from __future__ import annotations

from typing import TYPE_CHECKING

from django.contrib import admin

from inventory.admin.audited import AnyAdmin, LookOnly, shown_length
from inventory.models import (
    CheckGarment,
    CheckReading,
    CheckSitting,
    PointError,
    Study,
    StudyReading,
    TapeCheck,
)

if TYPE_CHECKING:
    from django.db.models import QuerySet
    from django.http import HttpRequest

_SDS = tuple(
    shown_length(name, words)
    for name, words in (
        ("repeat_sd_nm", "repeat SD"),
        ("person_sd_nm", "person SD"),
        ("fixed_sd_nm", "fixed SD"),
    )
)
_READ = ("side", "typed", "unit", shown_length("length_nm", "length"), "taken_by", "taken_at")


@admin.register(TapeCheck)
class TapeCheckAdmin(LookOnly, AnyAdmin):
    list_display = (
        "instrument",
        "outcome",
        shown_length("start_error_nm", "start error"),
        "stretch_ppm",
        "against",
        "checked_by",
        "checked_at",
    )
    list_filter = ("outcome",)
    list_select_related = ("instrument", "against", "checked_by")
    search_fields = ("=instrument__number",)
    exclude = ("start_error_nm", "correction_u_nm")
    readonly_fields = (
        shown_length("start_error_nm", "start error"),
        shown_length("correction_u_nm", "uncertainty of its correction"),
    )


@admin.register(CheckGarment)
class CheckGarmentAdmin(LookOnly, AnyAdmin):
    list_display = ("code", "style", "size_label", "baseline_sittings", "baseline_from", "retired_on")
    list_select_related = ("style",)
    search_fields = ("code", "style__code")


@admin.register(CheckSitting)
class CheckSittingAdmin(LookOnly, AnyAdmin):
    list_display = ("garment", "instrument", "opened_by", "opened_at", "finished_at")
    list_select_related = ("garment", "instrument", "opened_by")
    search_fields = ("=garment__code",)


@admin.register(CheckReading)
class CheckReadingAdmin(LookOnly, AnyAdmin):
    list_display = ("sitting", "point", *_READ)
    list_select_related = ("sitting__garment", "point", "taken_by")
    search_fields = ("=sitting__garment__code",)
    exclude = ("length_nm",)
    readonly_fields = (shown_length("length_nm", "length"),)


@admin.register(Study)
class StudyAdmin(LookOnly, AnyAdmin):
    list_display = ("label", "style", "rounds", "state", "planned_by", "planned_at", "ended_at")
    list_filter = ("state",)
    list_select_related = ("style", "planned_by")
    search_fields = ("=number", "style__code")


@admin.register(StudyReading)
class StudyReadingAdmin(LookOnly, AnyAdmin):
    """Figures of a running study are hidden: whoever reads on must not have seen them."""

    list_display = ("turn", "point", *_READ)
    list_select_related = ("turn__study", "point", "taken_by")
    search_fields = ("=turn__study__number",)
    exclude = ("length_nm",)
    readonly_fields = (shown_length("length_nm", "length"),)

    def get_queryset(self, request: HttpRequest) -> QuerySet[StudyReading]:
        return super().get_queryset(request).exclude(turn__study__state=Study.State.RUNNING)


@admin.register(PointError)
class PointErrorAdmin(LookOnly, AnyAdmin):
    list_display = ("point", "origin", "study", *_SDS, "effective_at", "set_by")
    list_filter = ("origin",)
    list_select_related = ("point", "study", "set_by")
    search_fields = ("=point__code", "point__style__code")
    exclude = ("repeat_sd_nm", "person_sd_nm", "fixed_sd_nm")
    readonly_fields = _SDS
