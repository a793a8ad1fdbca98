import pytest
from django.core.exceptions import ValidationError
from rest_framework.authtoken.models import Token

from inventory.access import NotAllowed
from inventory.models import AuditRow, User
from inventory.models.people import Role
from inventory.services.people import (
    LastOwner,
    UserNameTaken,
    WrongPassword,
    add_person,
    change_own_password,
    change_person,
    reset_password,
)
from inventory.services.tokens import issue_token
from tests.factories import NOW, PASSWORD, make_user

pytestmark = pytest.mark.django_db
NEW_PASSWORD = "another-long-test-password"


def test_a_person_is_added_with_a_role_and_can_sign_in() -> None:
    person = add_person(
        by=make_user(Role.OWNER), at=NOW, username="anna", role=Role.INSPECTOR, password=NEW_PASSWORD
    )
    assert person.check_password(NEW_PASSWORD)
    assert not person.is_staff
    row = AuditRow.objects.get()
    assert row.detail == {"username": "anna", "role": "inspector"}
    assert NEW_PASSWORD not in str(row.detail)


def test_a_name_is_taken_in_any_case() -> None:
    make_user(username="anna")
    with pytest.raises(UserNameTaken, match="'Anna' already"):
        add_person(by=make_user(Role.OWNER), at=NOW, username="Anna", password=NEW_PASSWORD)


def test_a_weak_password_is_refused() -> None:
    with pytest.raises(ValidationError, match="too short"):
        add_person(by=make_user(Role.OWNER), at=NOW, username="anna", password="short")
    assert not User.objects.filter(username="anna").exists()


@pytest.mark.parametrize("change", [{"role": Role.VIEWER}, {"is_active": False}])
def test_the_last_owner_stays_owner(change: dict[str, object]) -> None:
    owner = make_user(Role.OWNER)
    make_user(Role.OWNER, username="gone")
    User.objects.filter(username="gone").update(is_active=False)
    with pytest.raises(LastOwner, match="Make somebody else an owner first"):
        change_person(person=owner, by=owner, at=NOW, **change)  # type: ignore[arg-type]  # one of two
    owner.refresh_from_db()
    assert (owner.role, owner.is_active) == (Role.OWNER, True)


def test_an_owner_may_step_down_while_another_stays() -> None:
    owner, other = make_user(Role.OWNER), make_user(Role.OWNER)
    stepped = change_person(person=owner, by=other, at=NOW, role=Role.INSPECTOR)
    assert (stepped.role, stepped.is_staff) == (Role.INSPECTOR, False)
    assert AuditRow.objects.get().detail == {"changed": {"role": ["owner", "inspector"]}}


def test_the_owner_sets_a_lost_password_anew() -> None:
    inspector = make_user(Role.INSPECTOR)
    reset_password(person=inspector, password=NEW_PASSWORD, by=make_user(Role.OWNER), at=NOW)
    inspector.refresh_from_db()
    assert inspector.check_password(NEW_PASSWORD)
    assert AuditRow.objects.get().deed == "reset password"


def test_one_changes_ones_own_password_knowing_the_old() -> None:
    viewer = make_user(Role.VIEWER)
    with pytest.raises(WrongPassword):
        change_own_password(by=viewer, old="guess", password=NEW_PASSWORD, at=NOW)
    change_own_password(by=viewer, old=PASSWORD, password=NEW_PASSWORD, at=NOW)
    viewer.refresh_from_db()
    assert viewer.check_password(NEW_PASSWORD)


def test_a_new_password_ends_the_token_got_with_the_old_one() -> None:
    owner, inspector = make_user(Role.OWNER), make_user(Role.INSPECTOR)
    for person in (owner, inspector):
        issue_token(by=person, at=NOW)
    reset_password(person=inspector, password=NEW_PASSWORD, by=owner, at=NOW)
    assert list(Token.objects.values_list("user", flat=True)) == [owner.pk]
    change_own_password(by=owner, old=PASSWORD, password=NEW_PASSWORD, at=NOW)
    assert not Token.objects.exists()
    ended = AuditRow.objects.filter(deed="revoke token").order_by("pk").values_list("who", "subject_id")
    assert list(ended) == [(owner.pk, inspector.pk), (owner.pk, owner.pk)]


@pytest.mark.parametrize("role", [Role.INSPECTOR, Role.VIEWER])
def test_only_the_owner_looks_after_people(role: str) -> None:
    person = make_user(role)
    with pytest.raises(NotAllowed):
        add_person(by=person, at=NOW, username="anna", password=NEW_PASSWORD)
    with pytest.raises(NotAllowed):
        change_person(person=person, by=person, at=NOW, role=Role.OWNER)
    with pytest.raises(NotAllowed):
        reset_password(person=make_user(Role.OWNER), password=NEW_PASSWORD, by=person, at=NOW)
