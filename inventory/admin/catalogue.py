"""The catalogue's defaults."""

from __future__ import annotations

from django.contrib import admin

from inventory.admin.audited import AuditedAdmin, shown_length
from inventory.models import CataloguePoint


@admin.register(CataloguePoint)
class CataloguePointAdmin(AuditedAdmin):
    list_display = (
        "code",
        "name",
        "group",
        "kind",
        "sides",
        shown_length("tolerance_minus_nm", "minus"),
        shown_length("tolerance_plus_nm", "plus"),
        shown_length("asymmetry_limit_nm", "left-right limit"),
        "source",
    )
    list_filter = ("group", "kind", "sides", "source")
    search_fields = ("code", "name")
