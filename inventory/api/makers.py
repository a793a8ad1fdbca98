"""Makers, to look up; they are set up on screen."""

from __future__ import annotations

from typing import TYPE_CHECKING

from drf_spectacular.utils import extend_schema
from rest_framework import serializers

from inventory.api.frame.inputs import Filters
from inventory.api.frame.resource import Resource, found
from inventory.api.frame.shapes import Shape
from inventory.models import Maker
from inventory.queries import makers as ask

if TYPE_CHECKING:
    from rest_framework.request import Request
    from rest_framework.response import Response


class MakerShape(Shape):
    """A workshop that sews for the shop."""

    code = serializers.CharField()
    name = serializers.CharField()
    country = serializers.CharField()
    language = serializers.CharField()
    email = serializers.CharField()
    notice_window_days = serializers.IntegerField(
        allow_null=True, help_text="Days from arrival agreed for notice, as the contract says."
    )
    window_source = serializers.CharField()
    governing_law = serializers.CharField()
    note = serializers.CharField()
    is_active = serializers.BooleanField()


class WithRetired(Filters):
    with_retired = serializers.BooleanField(default=False, help_text="Also show what is no longer in use.")


class Makers(Resource):
    @extend_schema(parameters=[WithRetired], responses=MakerShape(many=True))
    def get(self, request: Request) -> Response:
        """All makers."""
        return self.page(ask.makers(**self.wanted(WithRetired)), MakerShape)


class OneMaker(Resource):
    @extend_schema(responses=MakerShape)
    def get(self, request: Request, code: str) -> Response:
        """One maker by its code."""
        return self.shown(found_maker(code), MakerShape)


def found_maker(code: str) -> Maker:
    """The maker of this code, or a 404."""
    return found(ask.maker_by_code(code), f"There is no maker with the code {code!r}.")
