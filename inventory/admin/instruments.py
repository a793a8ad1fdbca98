"""Tapes and rules."""

from __future__ import annotations

from django.contrib import admin

from inventory.admin.audited import AuditedAdmin, NeverDeleted, shown_length
from inventory.models import Instrument


@admin.register(Instrument)
class InstrumentAdmin(NeverDeleted, AuditedAdmin):
    list_display = (
        "number",
        "kind",
        "description",
        shown_length("division_nm", "division"),
        "in_use_since",
        "retired_on",
    )
    list_filter = ("kind",)
    search_fields = ("number", "description")
