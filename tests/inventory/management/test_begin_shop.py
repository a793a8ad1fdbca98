"""A first start fills an empty installation with the demo shop or, with DEMO=0, with one owner."""

from __future__ import annotations

import re
from io import StringIO
from typing import TYPE_CHECKING

import pytest
from django.core.management import CommandError, call_command
from django.test import Client

from inventory.models import AuditRow, Maker, User
from inventory.models.people import Role
from tests.factories import make_user

if TYPE_CHECKING:
    from pytest_django.fixtures import Settings

pytestmark = pytest.mark.django_db


def begun(*, resume: bool = False) -> str:
    said = StringIO()
    call_command("begin_shop", stdout=said, resume=resume)
    return said.getvalue()


def test_without_the_demo_the_owner_signs_in_with_the_password_that_was_printed(
    settings: Settings,
) -> None:
    settings.DEMO = False
    printed = re.search(r"Sign in as '(\w+)', password '([\w-]+)'", begun())
    assert printed is not None
    assert Client().login(username=printed[1], password=printed[2])
    assert (User.objects.get().role, Maker.objects.count()) == (Role.OWNER, 0)
    assert AuditRow.objects.get().deed == "add first owner"


def test_where_somebody_works_already_nobody_is_added(settings: Settings) -> None:
    settings.DEMO = False
    make_user()
    with pytest.raises(CommandError, match="There are people here already"):
        begun()
    assert User.objects.count() == 1


def test_otherwise_the_demo_shop_is_loaded() -> None:
    assert "The demo shop is loaded" in begun()
    assert Maker.objects.exists()


@pytest.mark.parametrize("demo", [True, False], ids=["demo", "empty"])
def test_a_start_that_was_cut_off_after_filling_the_shop_is_not_stuck(
    settings: Settings, *, demo: bool
) -> None:
    settings.DEMO = demo
    make_user()  # stands for whoever either way of beginning writes, in one transaction with all else
    assert "manage.py changepassword owner" in begun(resume=True)
    assert User.objects.count() == 1


def test_a_first_start_that_was_cut_off_before_that_begins_anew(settings: Settings) -> None:
    settings.DEMO = False
    assert "Sign in as 'owner'" in begun(resume=True)
