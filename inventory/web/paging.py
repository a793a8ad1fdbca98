"""A page of a list, and what its pager needs."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Final

from django.core.paginator import Page, Paginator

if TYPE_CHECKING:
    from collections.abc import Sequence

    from django.db.models import QuerySet
    from django.http import HttpRequest

ROWS: Final = 25


def page_of(
    request: HttpRequest,
    found: QuerySet[Any] | Sequence[Any],  # Any: rows of whatever list is paged
    *,
    rows: int = ROWS,
    name: str = "page",
) -> Page[Any]:
    """The page the address asks for; a number that is none or too high shows the first or the last."""
    return Paginator(found, rows).get_page(request.GET.get(name))


def pager(request: HttpRequest, page: Page[Any], *, name: str = "page") -> dict[str, Any]:  # Any: a context
    """Context for `inventory/parts/pager.html`: the page, the numbers to show, the filters to keep."""
    kept = request.GET.copy()
    kept.pop(name, None)
    return {
        "page": page,
        "elided": list(page.paginator.get_elided_page_range(page.number, on_each_side=2, on_ends=1)),
        "query": kept.urlencode(),
    }
