"""Who may do what: owner, inspector, viewer, stranger."""

from __future__ import annotations

import pytest
from django.contrib.auth.models import AnonymousUser

from inventory.access import DEEDS_OF, Deed, NotAllowed, may, require
from inventory.models.people import Role
from tests.factories import make_user

pytestmark = pytest.mark.django_db


@pytest.mark.parametrize("deed", Deed)
def test_an_owner_may_do_everything(deed: Deed) -> None:
    assert may(make_user(Role.OWNER), deed)


def test_an_inspector_measures_but_does_not_set_up_or_decide() -> None:
    inspector = make_user(Role.INSPECTOR)
    assert may(inspector, Deed.MEASURE)
    assert not may(inspector, Deed.SET_UP)
    assert not may(inspector, Deed.DECIDE)
    assert not may(inspector, Deed.ADMINISTER)


def test_a_viewer_only_looks() -> None:
    viewer = make_user(Role.VIEWER)
    assert {deed for deed in Deed if may(viewer, deed)} == {Deed.VIEW}


@pytest.mark.parametrize("deed", Deed)
def test_a_stranger_may_nothing(deed: Deed) -> None:
    assert not may(AnonymousUser(), deed)
    with pytest.raises(NotAllowed, match="a stranger you may not"):
        require(AnonymousUser(), deed)


def test_a_person_switched_off_may_nothing() -> None:
    owner = make_user(Role.OWNER)
    owner.is_active = False
    assert not may(owner, Deed.VIEW)


def test_the_refusal_says_who_may() -> None:
    with pytest.raises(NotAllowed, match="As viewer you may not record readings"):
        require(make_user(Role.VIEWER), Deed.MEASURE)


def test_every_role_has_its_deeds_written_down() -> None:
    assert set(DEEDS_OF) == set(Role)


@pytest.mark.parametrize("role", Role)
def test_the_role_alone_opens_the_admin_site(role: Role) -> None:
    person = make_user(role)
    is_owner = role == Role.OWNER
    assert (person.is_staff, person.is_superuser) == (is_owner, is_owner)
