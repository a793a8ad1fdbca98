"""Makers."""

from __future__ import annotations

from django.contrib import admin

from inventory.admin.audited import AuditedAdmin, NeverDeleted
from inventory.models import Maker


@admin.register(Maker)
class MakerAdmin(NeverDeleted, AuditedAdmin):
    list_display = ("name", "code", "country", "notice_window_days", "is_active")
    list_filter = ("is_active",)
    search_fields = ("name", "code", "country", "email")
