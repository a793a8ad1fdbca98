"""What every bench screen does at the door: ask for the right, find the piece, say what is not there."""

from __future__ import annotations

from typing import TYPE_CHECKING

from django.http import Http404

from inventory.access import Deed, require
from inventory.models import User
from inventory.queries.bench.sheet import PieceNotFound, Sheet, sheet_of

if TYPE_CHECKING:
    from django.http import HttpRequest


def measurer(request: HttpRequest) -> User:
    """The signed-in person, if they may measure; `NotAllowed` otherwise."""
    require(request.user, Deed.MEASURE)
    assert isinstance(request.user, User)
    return request.user


def lying_there(number: int) -> Sheet:
    """The piece at the bench, or a page that says there is none. Raises `SizeNotInSpec`."""
    try:
        return sheet_of(number)
    except PieceNotFound as nothing:
        raise Http404(str(nothing)) from nothing
