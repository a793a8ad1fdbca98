"""What was read, judged and decided, and who did what: to look at, never to change."""

from __future__ import annotations

from django.contrib import admin

from inventory.admin.audited import AnyAdmin, LookOnly, shown_length
from inventory.models import (
    AuditRow,
    Disposition,
    Inspection,
    JudgementBasis,
    PieceVerdict,
    Reading,
    SlipQuestion,
)


@admin.register(Inspection)
class InspectionAdmin(LookOnly, AnyAdmin):
    list_display = (
        "piece",
        "piece_state",
        "source",
        "unit",
        "instrument",
        "opened_by",
        "opened_at",
        "finished_at",
    )
    list_filter = ("source", "piece_state")
    list_select_related = ("piece", "instrument", "opened_by")
    search_fields = ("=piece__number",)


@admin.register(Reading)
class ReadingAdmin(LookOnly, AnyAdmin):
    list_display = (
        "inspection",
        "point",
        "side",
        "repeat",
        "typed",
        "unit",
        shown_length("length_nm", "length"),
        "taken_by",
        "taken_at",
    )
    list_select_related = ("inspection__piece", "point", "taken_by")
    search_fields = ("=inspection__piece__number",)
    show_full_result_count = False  # there may be millions
    exclude = ("length_nm",)
    readonly_fields = (shown_length("length_nm", "length"),)


@admin.register(SlipQuestion)
class SlipQuestionAdmin(LookOnly, AnyAdmin):
    list_display = ("question", "kind", "answer", "answered_by", "answered_at")
    list_filter = ("kind", "answer")
    list_select_related = ("answered_by",)
    exclude = ("suggestion_nm",)
    readonly_fields = (shown_length("suggestion_nm", "suggestion"),)


@admin.register(PieceVerdict)
class PieceVerdictAdmin(LookOnly, AnyAdmin):
    list_display = ("piece", "shelf", "claim", "worst_point", "is_current", "judged_by", "judged_at")
    list_filter = ("is_current", "shelf", "claim")
    list_select_related = ("piece", "judged_by")
    search_fields = ("=piece__number",)
    show_full_result_count = False
    exclude = ("size_margin_nm",)
    readonly_fields = (shown_length("size_margin_nm", "margin of the fitting size"),)


@admin.register(JudgementBasis)
class JudgementBasisAdmin(LookOnly, AnyAdmin):
    list_display = ("spec", "size_label", "digest", "created_at")
    list_select_related = ("spec__style",)
    search_fields = ("digest", "spec__style__code")


@admin.register(Disposition)
class DispositionAdmin(LookOnly, AnyAdmin):
    list_display = ("piece", "decision", "reason", "agreed_with", "ends_on", "decided_by", "decided_at")
    list_filter = ("decision",)
    list_select_related = ("piece", "decided_by")
    search_fields = ("=piece__number", "reason", "agreed_with")


@admin.register(AuditRow)
class AuditRowAdmin(LookOnly, AnyAdmin):
    list_display = ("at", "who", "deed", "subject_label", "subject_type")
    list_filter = ("subject_type", "deed")
    list_select_related = ("who",)
    search_fields = ("subject_label", "deed")
    show_full_result_count = False
