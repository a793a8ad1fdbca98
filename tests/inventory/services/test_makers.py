import pytest
from django.core.exceptions import ValidationError

from inventory.access import NotAllowed
from inventory.models import AuditRow, Maker
from inventory.models.people import Role
from inventory.services.makers import MakerCodeTaken, add_maker, change_maker
from tests.factories import NOW, make_delivery, make_maker, make_user

pytestmark = pytest.mark.django_db


def test_adding_a_maker_leaves_an_audit_row() -> None:
    owner = make_user(Role.OWNER)
    maker = add_maker(by=owner, at=NOW, code="north", name="North workshop", notice_window_days=14)
    row = AuditRow.objects.get(deed="add maker")
    assert (row.who, row.subject_id, row.subject_label, row.at) == (owner, maker.pk, "North workshop", NOW)


def test_a_second_maker_with_the_code_in_another_case_is_refused() -> None:
    make_maker(code="north", name="North workshop")
    with pytest.raises(MakerCodeTaken, match="'NORTH' belongs to North workshop") as refusal:
        add_maker(by=make_user(Role.OWNER), at=NOW, code="NORTH", name="Other")
    assert refusal.value.field == "code"
    assert Maker.objects.count() == 1


def test_a_value_the_field_does_not_take_is_refused() -> None:
    with pytest.raises(ValidationError):
        add_maker(by=make_user(Role.OWNER), at=NOW, code="north", name="North", email="no mail address")
    assert not Maker.objects.exists()


def test_a_change_says_what_was_there_before() -> None:
    maker = make_maker(notice_window_days=14)
    change_maker(maker=maker, by=make_user(Role.OWNER), at=NOW, notice_window_days=8, name=maker.name)
    assert AuditRow.objects.get(deed="change maker").detail == {"changed": {"notice_window_days": [14, 8]}}


def test_a_change_that_changes_nothing_leaves_no_audit_row() -> None:
    maker = make_maker()
    change_maker(maker=maker, by=make_user(Role.OWNER), at=NOW, name=maker.name)
    assert not AuditRow.objects.exists()


def test_a_delivery_keeps_the_window_it_arrived_with() -> None:
    maker = make_maker(notice_window_days=14)
    delivery = make_delivery(maker=maker, notice_window_days=14)
    change_maker(maker=maker, by=make_user(Role.OWNER), at=NOW, notice_window_days=3)
    delivery.refresh_from_db()
    assert delivery.notice_window_days == 14


@pytest.mark.parametrize("role", [Role.INSPECTOR, Role.VIEWER])
def test_only_the_owner_sets_makers_up(role: str) -> None:
    person = make_user(role)
    with pytest.raises(NotAllowed):
        add_maker(by=person, at=NOW, code="north", name="North")
    with pytest.raises(NotAllowed):
        change_maker(maker=make_maker(), by=person, at=NOW, name="Mine")
    assert not AuditRow.objects.exists()
