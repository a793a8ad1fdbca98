"""The shop's settings, and its decision rules to look at."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from django.contrib import admin

from inventory.admin.audited import AnyAdmin, AuditedAdmin, LookOnly, NeverDeleted
from inventory.models import DecisionRule, Shop

if TYPE_CHECKING:
    from django.http import HttpRequest


@admin.register(Shop)
class ShopAdmin(NeverDeleted, AuditedAdmin):
    list_display = ("name", "display_unit", "blind_entry", "paper", "shelf_rule", "claim_rule")
    list_select_related = ("shelf_rule", "claim_rule")

    def has_add_permission(self, request: HttpRequest, obj: Any = None) -> bool:  # noqa: ARG002  # Any: Django's own
        """There is one shop."""
        return False


@admin.register(DecisionRule)
class DecisionRuleAdmin(LookOnly, AnyAdmin):
    """A rule is never edited: new versions are written on the rules page, which checks them."""

    list_display = ("name", "code", "version", "purpose", "multiplier", "max_repeats", "at_the_end")
    list_filter = ("purpose",)
    search_fields = ("name", "code")
