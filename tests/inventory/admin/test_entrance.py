"""Who stands before the set-up site."""

from __future__ import annotations

import pytest
from django.test import Client
from django.urls import reverse

from inventory.models.people import Role
from tests.factories import make_user

pytestmark = pytest.mark.django_db


@pytest.mark.parametrize("role", [Role.VIEWER, Role.INSPECTOR])
def test_another_role_gets_the_word_of_every_other_screen_and_no_second_sign_in(role: Role) -> None:
    client = Client()
    client.force_login(make_user(role))
    answer = client.get(reverse("admin:index"), follow=True)
    assert answer.status_code == 403
    page = answer.content.decode()
    assert "This page is not open to you" in page
    assert 'type="password"' not in page


def test_a_stranger_signs_in_where_everybody_does_and_comes_back() -> None:
    answer = Client().get(reverse("admin:index"), follow=True)
    assert answer.redirect_chain[-1][0] == f"{reverse('sign-in')}?next={reverse('admin:index')}"
    assert "inventory/sign_in.html" in [template.name for template in answer.templates]


def test_the_owner_is_let_in() -> None:
    client = Client()
    client.force_login(make_user(Role.OWNER))
    assert client.get(reverse("admin:index")).status_code == 200
    assert client.get(reverse("admin:login"))["Location"] == reverse("admin:index")
