"""Deliveries, batches, pieces and defects, to look at: they are written on the screens, by services."""

from __future__ import annotations

from django.contrib import admin

from inventory.admin.audited import AnyAdmin, LookOnly, shown_length
from inventory.models import Batch, Defect, Delivery, ImportRun, Job, Photo, Piece


@admin.register(Delivery)
class DeliveryAdmin(LookOnly, AnyAdmin):
    list_display = ("label", "maker", "arrived_at", "order_reference", "notice_window_days", "received_by")
    list_filter = ("maker",)
    list_select_related = ("maker", "received_by")
    search_fields = ("=number", "order_reference", "invoice_reference")


@admin.register(Batch)
class BatchAdmin(LookOnly, AnyAdmin):
    list_display = ("label", "delivery", "style", "spec", "cutting_reference", "created_at")
    list_filter = ("style", "delivery__maker")
    list_select_related = ("delivery__maker", "style", "spec__style")
    search_fields = ("=number", "cutting_reference", "style__code")


@admin.register(Piece)
class PieceAdmin(LookOnly, AnyAdmin):
    list_display = ("label", "batch", "size_label", "colour", "standing", "created_at")
    list_filter = ("standing", "batch__style")
    list_select_related = ("batch__style",)
    search_fields = ("=number", "maker_reference")


@admin.register(Defect)
class DefectAdmin(LookOnly, AnyAdmin):
    list_display = ("kind", "severity", "zone", "count", "batch", "piece", "seen_by", "seen_at")
    list_filter = ("severity", "zone")
    list_select_related = ("batch__style", "piece", "seen_by")
    search_fields = ("kind", "note")
    exclude = ("size_nm",)
    readonly_fields = (shown_length("size_nm", "size of the defect"),)


@admin.register(Photo)
class PhotoAdmin(LookOnly, AnyAdmin):
    list_display = ("original_name", "defect", "digest", "added_by", "added_at")
    list_select_related = ("defect", "added_by")
    search_fields = ("original_name", "digest")
    exclude = ("original",)  # handed out by a page that checks the right, never by path


@admin.register(ImportRun)
class ImportRunAdmin(LookOnly, AnyAdmin):
    list_display = ("__str__",)


@admin.register(Job)
class JobAdmin(LookOnly, AnyAdmin):
    list_display = ("kind", "state", "attempts", "words", "created_by", "started_at", "finished_at")
    list_filter = ("state", "kind")
    list_select_related = ("created_by",)
