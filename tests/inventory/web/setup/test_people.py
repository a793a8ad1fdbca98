import pytest
from django.test import Client
from django.urls import reverse

from inventory.models import User
from inventory.models.people import Role
from tests.factories import PASSWORD, make_user
from tests.inventory.web.setup.cast import client_of, said

pytestmark = pytest.mark.django_db
NEW = "another-long-test-password"
BOXES = {"username": "anna", "first_name": "Anna", "last_name": "", "email": "", "role": "inspector"}


def test_a_person_is_added_and_signs_in() -> None:
    client_of().post(reverse("person-new"), BOXES | {"password": NEW})
    assert Client().login(username="anna", password=NEW)


def test_a_weak_password_is_told_and_never_sent_back() -> None:
    page = said(client_of().post(reverse("person-new"), BOXES | {"password": "kurzwort"[:5]}))
    assert "too short" in page
    assert "kurzw" not in page
    assert not User.objects.filter(username="anna").exists()


def test_a_weak_password_is_told_at_its_box_by_name() -> None:
    person = make_user()
    answers = [
        client_of().post(reverse("person-new"), BOXES | {"password": "short"}),
        client_of().post(
            reverse("person-password", args=[person.pk]), {"password": "short", "again": "short"}
        ),
        client_of().post(
            reverse("password-change"), {"old_password": PASSWORD, "password": "short", "again": "short"}
        ),
    ]
    for answer in answers:
        assert "password" in answer.context["form"].errors
        assert 'href="#id_password"' in said(answer)


@pytest.mark.parametrize(
    ("username", "said_of_it", "cure"),
    [("Anna Berg", "has a space in it", "Anna.Berg"), ("anna/berg", "has &#x27;/&#x27; in it", "anna.berg")],
)
def test_a_name_to_sign_in_with_is_told_which_sign_is_wrong(
    username: str, said_of_it: str, cure: str
) -> None:
    page = said(client_of().post(reverse("person-new"), BOXES | {"username": username, "password": NEW}))
    assert said_of_it in page
    assert f"such as &#x27;{cure}&#x27;" in page
    person = make_user(username="berg")
    boxes = BOXES | {"username": username, "is_active": "on"}
    assert said_of_it in said(client_of().post(reverse("person-edit", args=[person.pk]), boxes))
    person.refresh_from_db()
    assert person.username == "berg"
    assert not User.objects.filter(username=username).exists()


def test_a_role_is_changed() -> None:
    person = make_user(Role.VIEWER, username="anna")
    boxes = BOXES | {"role": "owner", "is_active": "on"}
    client_of().post(reverse("person-edit", args=[person.pk]), boxes)
    person.refresh_from_db()
    assert (person.role, person.is_superuser) == (Role.OWNER, True)


def test_the_last_owner_is_told_why_they_stay() -> None:
    owner = make_user(Role.OWNER, username="anna")
    page = said(
        client_of(user=owner).post(reverse("person-edit", args=[owner.pk]), BOXES | {"is_active": "on"})
    )
    assert "Make somebody else an owner first" in page
    owner.refresh_from_db()
    assert owner.role == Role.OWNER


def test_an_owner_who_steps_down_is_not_sent_where_they_may_not_go() -> None:
    owner = make_user(Role.OWNER, username="anna")
    make_user(Role.OWNER)
    client = client_of(user=owner)
    answer = client.post(reverse("person-edit", args=[owner.pk]), BOXES | {"is_active": "on"})
    assert answer["Location"] == reverse("home")


def test_a_lost_password_is_set_anew_and_ends_old_sign_ins() -> None:
    person = make_user(Role.INSPECTOR)
    theirs = client_of(user=person)
    boxes = {"password": NEW, "again": NEW}
    client_of().post(reverse("person-password", args=[person.pk]), boxes)
    assert theirs.get(reverse("makers")).status_code == 302
    assert Client().login(username=person.username, password=NEW)


def test_two_different_passwords_are_refused() -> None:
    person = make_user()
    boxes = {"password": NEW, "again": NEW + "x"}
    page = said(client_of().post(reverse("person-password", args=[person.pk]), boxes))
    assert "The two passwords differ" in page


@pytest.mark.parametrize("role", Role.values)
def test_everybody_changes_their_own_password_and_stays_signed_in(role: str) -> None:
    person = make_user(role)
    client, elsewhere = client_of(user=person), client_of(user=person)
    boxes = {"old_password": PASSWORD, "password": NEW, "again": NEW}
    assert "Your password is changed" in said(client.post(reverse("password-change"), boxes, follow=True))
    assert elsewhere.get(reverse("password-change")).status_code == 302


def test_a_wrong_old_password_is_told_at_its_box() -> None:
    boxes = {"old_password": "guess", "password": NEW, "again": NEW}
    assert "The old password does not fit" in said(client_of().post(reverse("password-change"), boxes))
