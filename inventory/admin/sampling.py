"""What was agreed on sampling, drawn and decided: to look at, never to change."""

from __future__ import annotations

from django.contrib import admin

from inventory.admin.audited import AnyAdmin, LookOnly
from inventory.models import BatchDecision, BatchSampling, DrawnPiece, SamplingScheme, SwitchingNote


@admin.register(SamplingScheme)
class SamplingSchemeAdmin(LookOnly, AnyAdmin):
    list_display = ("kind", "maker", "style", "level", "stages", "switching", "set_by", "set_at")
    list_filter = ("kind",)
    list_select_related = ("maker", "style", "set_by")
    search_fields = ("maker__code", "style__code", "reason")


@admin.register(BatchSampling)
class BatchSamplingAdmin(LookOnly, AnyAdmin):
    list_display = ("batch", "severity", "batch_size", "seed", "drawn_by", "drawn_at")
    list_filter = ("severity",)
    list_select_related = ("batch__style", "drawn_by")
    search_fields = ("=batch__number", "=seed")


@admin.register(DrawnPiece)
class DrawnPieceAdmin(LookOnly, AnyAdmin):
    list_display = ("sampling", "position", "piece", "stage", "stratum")
    list_select_related = ("sampling__batch__style", "piece")
    search_fields = ("=piece__number", "=sampling__batch__number")


@admin.register(BatchDecision)
class BatchDecisionAdmin(LookOnly, AnyAdmin):
    list_display = ("sampling", "outcome", "original", "decided_by", "decided_at")
    list_filter = ("outcome",)
    list_select_related = ("sampling__batch__style", "decided_by")
    search_fields = ("=sampling__batch__number",)


@admin.register(SwitchingNote)
class SwitchingNoteAdmin(LookOnly, AnyAdmin):
    list_display = ("maker", "style", "kind", "note", "noted_by", "noted_at")
    list_filter = ("kind",)
    list_select_related = ("maker", "style", "noted_by")
    search_fields = ("maker__code", "style__code")
