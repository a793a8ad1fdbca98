"""Long lists in pages.

Rows come in the order in which they were made, and a page begins behind the last row of the one before. So
nothing is shown twice or left out when rows are added while a program turns the pages, or leave the filter
because it decides them one by one; and the last page costs as little as the first.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Final

from rest_framework import serializers
from rest_framework.pagination import BasePagination
from rest_framework.response import Response
from rest_framework.utils.urls import replace_query_param

from inventory.api.frame.inputs import LARGEST_ID, Filters, read_parameters

if TYPE_CHECKING:
    from collections.abc import Sequence

    from django.db.models import QuerySet
    from rest_framework.request import Request
    from rest_framework.views import APIView

ROWS: Final = 100
MOST_ROWS: Final = 500

_AFTER: Final = {"minimum": 0, "maximum": LARGEST_ID, "type": "integer", "format": "int64"}
_ROWS: Final = {"minimum": 1, "maximum": MOST_ROWS, "type": "integer", "default": ROWS}


class PageChoice(Filters):
    after = serializers.IntegerField(required=False, min_value=0, max_value=LARGEST_ID, default=0)
    rows = serializers.IntegerField(required=False, min_value=1, max_value=MOST_ROWS, default=ROWS)


class Pages(BasePagination):
    """`after` is the key of the row before the page; `rows` how many rows a page has."""

    def paginate_queryset(  # type: ignore[override]  # only rows of a table are paged here
        self,
        queryset: QuerySet[Any],  # Any: rows of whatever list is paged
        request: Request,
        view: APIView | None = None,
    ) -> list[Any]:  # Any: as above
        """The rows of the page, in one statement: one row more is read to know whether there are others."""
        choice = read_parameters(PageChoice, request)
        most = choice["rows"]
        found = list(queryset.filter(pk__gt=choice["after"]).order_by("pk")[: most + 1])
        self.next: str | None = None
        if len(found) > most:
            found.pop()
            self.next = replace_query_param(request.build_absolute_uri(), "after", found[-1].pk)
        return found

    def get_paginated_response(self, data: Sequence[Any]) -> Response:  # Any: JSON
        """`next` is the address of the next page, null on the last one."""
        return Response({"next": self.next, "results": data})

    def get_paginated_response_schema(self, schema: dict[str, Any]) -> dict[str, Any]:  # Any: JSON
        """The page as OpenAPI describes it."""
        following = {
            "type": "string",
            "format": "uri",
            "nullable": True,
            "description": "The next page's address; null on the last page.",
        }
        return {
            "type": "object",
            "required": ["next", "results"],
            "properties": {"next": following, "results": schema},
        }

    def get_schema_operation_parameters(self, view: APIView) -> list[dict[str, Any]]:  # Any: JSON
        """What a list takes besides its filters."""
        words = {
            "after": ("Key of the row before the page; follow `next` instead of making it up.", _AFTER),
            "rows": ("Rows of a page.", _ROWS),
        }
        return [
            {"name": name, "in": "query", "required": False, "description": said, "schema": schema}
            for name, (said, schema) in words.items()
        ]
