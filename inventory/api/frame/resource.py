"""What all views have in common: read the input, call one service or query, show what came of it."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, ClassVar, TypeVar

from django.http import Http404
from rest_framework import serializers
from rest_framework.permissions import BasePermission
from rest_framework.response import Response
from rest_framework.views import APIView

from inventory.access import Deed, may
from inventory.api.frame.errors import Against
from inventory.api.frame.inputs import BEYOND_SCHEMA, read_parameters
from inventory.api.frame.paging import PageChoice, Pages
from inventory.models import Shop, User

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Iterator, Mapping

    from django.db.models import QuerySet
    from rest_framework.request import Request

    from inventory.api.frame.inputs import Filters, Input
    from inventory.api.frame.shapes import Shape
    from inventory.calc.length import Display

Row = TypeVar("Row")


class MayView(BasePermission):
    """Signed in, switched on, and allowed to see the shop's records; what changes them the services ask."""

    def has_permission(self, request: Request, view: APIView) -> bool:
        """Whether the door opens at all; a stranger is asked to sign in."""
        return may(request.user, Deed.VIEW)


class Resource(APIView):
    """Base of the addresses of one subject."""

    permission_classes = [MayView]
    pagination_class = Pages
    points_at: ClassVar[Mapping[type[Exception], str]] = {}
    """The place of the body that an error is about which does not say so itself; steps parted by `/`."""

    @property
    def person(self) -> User:
        """Who is signed in."""
        assert isinstance(self.request.user, User)
        return self.request.user

    def body(self, reads: type[Input]) -> dict[str, Any]:  # Any: values of every type
        """The body as read; refused with a pointer to each place that is wrong."""
        return read_body(reads(data=self.request.data))

    def wanted(self, reads: type[Filters]) -> dict[str, Any]:  # Any: values of every type
        """What is asked for behind the question mark, as read."""
        return read_parameters(reads, self.request, besides=PageChoice().fields)

    def shown(self, row: object, shape: type[Shape], *, status: int = 200) -> Response:
        """One record."""
        return Response(shape(row, context=self._context()).data, status=status)

    def page(
        self,
        found: QuerySet[Any],  # Any: rows of whatever list is shown
        shape: type[Shape],
        *,
        with_more: Callable[[list[Any]], Iterable[object]] | None = None,  # Any: as above
    ) -> Response:
        """A page of a list; `with_more` adds to its rows what a second query knows of them."""
        pages = self.pagination_class()
        rows = pages.paginate_queryset(found, self.request, self)
        more = rows if with_more is None else list(with_more(rows))
        return pages.get_paginated_response(list(shape(more, many=True, context=self._context()).data))

    def _context(self) -> dict[str, Display]:
        return {"display": Shop.objects.current().as_display()}


def read_body(sent: Input) -> dict[str, Any]:  # Any: values of every type
    """What was sent, as read. What no schema can forbid is refused as well formed but not possible."""
    if not sent.is_valid():
        beyond = set(_codes(sent.errors)) <= BEYOND_SCHEMA
        raise Against(sent.errors) if beyond else serializers.ValidationError(sent.errors)
    return dict(sent.validated_data)


def known(row: Row | None, field: str, said: str) -> Row:
    """The record that the body names, or a refusal that points at the name."""
    if row is None:
        raise Against({field: [said]})
    return row


def _codes(errors: Any) -> Iterator[str]:  # Any: DRF's nested lists and dicts of ErrorDetail
    if isinstance(errors, dict | list):
        for inner in errors.values() if isinstance(errors, dict) else errors:
            yield from _codes(inner)
    else:
        yield errors.code


def found(row: Row | None, said: str) -> Row:
    """The record, or a 404 that says what is not there."""
    if row is None:
        raise Http404(said)
    return row
