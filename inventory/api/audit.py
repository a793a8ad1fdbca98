"""The audit trail: who did what, and when; for the owner."""

from __future__ import annotations

from typing import TYPE_CHECKING

from django.core.exceptions import PermissionDenied
from drf_spectacular.utils import extend_schema
from rest_framework import serializers

from inventory.access import Deed, may
from inventory.api.frame.inputs import LARGEST_ID, Filters
from inventory.api.frame.resource import Resource
from inventory.api.frame.shapes import Shape
from inventory.queries import audit as ask

if TYPE_CHECKING:
    from rest_framework.request import Request
    from rest_framework.response import Response


class AuditShape(Shape):
    """One deed. Rows are only ever added."""

    id = serializers.IntegerField()
    at = serializers.DateTimeField()
    who = serializers.CharField(source="who.username", default=None, allow_null=True)
    deed = serializers.CharField()
    subject_type = serializers.CharField()
    subject_id = serializers.IntegerField()
    subject_label = serializers.CharField()
    detail = serializers.DictField()


class AuditFilters(Filters):
    subject_type = serializers.CharField(required=False, max_length=24, help_text="Such as piece.")
    subject_id = serializers.IntegerField(required=False, min_value=1, max_value=LARGEST_ID)
    deed = serializers.CharField(required=False, max_length=40, help_text="Such as judge piece.")
    who = serializers.CharField(required=False, max_length=150, help_text="A user name.")


class Audit(Resource):
    @extend_schema(parameters=[AuditFilters], responses=AuditShape(many=True))
    def get(self, request: Request) -> Response:
        """Deeds in the order in which they were done."""
        if not may(self.person, Deed.ADMINISTER):
            raise PermissionDenied("Who did what is shown to the owner alone. Sign in as the owner.")
        return self.page(ask.rows_matching(**self.wanted(AuditFilters)), AuditShape)
