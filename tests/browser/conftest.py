"""A piece at the bench, opened in the browser by an inspector."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

import pytest

from inventory.models import Piece, User
from inventory.models.people import Role
from tests.browser.at_the_bench import open_bench
from tests.factories import make_piece, make_user

if TYPE_CHECKING:
    from playwright.sync_api import Page


@pytest.fixture
def piece() -> Piece:
    """Give a piece of size 24 that nobody has measured."""
    return make_piece()


@pytest.fixture
def bench(sign_in: Callable[[User], Page], piece: Piece) -> Page:
    """Open the piece at the bench as the inspector ana."""
    page = sign_in(make_user(Role.INSPECTOR, username="ana"))
    open_bench(page, piece.label)
    return page
