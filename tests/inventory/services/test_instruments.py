import datetime as dt

import pytest

from inventory.access import NotAllowed
from inventory.models import AuditRow, Instrument
from inventory.models.people import Role
from inventory.services.instruments import (
    DivisionImpossible,
    InstrumentDatesCross,
    InstrumentNumberTaken,
    add_instrument,
    bring_back_instrument,
    change_instrument,
    retire_instrument,
)
from tests.factories import MM, NOW, make_instrument, make_user

pytestmark = pytest.mark.django_db
TODAY = dt.date(2026, 3, 2)


def test_a_tape_is_numbered() -> None:
    tape = add_instrument(by=make_user(Role.OWNER), at=NOW, number="T1", kind="tape", division_nm=MM)
    assert str(tape) == "Tape T1"
    assert AuditRow.objects.get().deed == "add instrument"


def test_a_number_is_given_once() -> None:
    make_instrument(number="T1")
    with pytest.raises(InstrumentNumberTaken, match="'t1' is on Tape T1 already"):
        add_instrument(by=make_user(Role.OWNER), at=NOW, number="t1")


@pytest.mark.parametrize("division_nm", [0, -MM, 51 * MM])
def test_a_division_of_nothing_or_of_a_hand_is_refused(division_nm: int) -> None:
    with pytest.raises(DivisionImpossible, match="such as 1 mm or 1/16 in"):
        add_instrument(by=make_user(Role.OWNER), at=NOW, number="T1", division_nm=division_nm)
    assert not Instrument.objects.exists()


def test_a_retired_tape_keeps_its_day_and_can_come_back() -> None:
    owner, tape = make_user(Role.OWNER), make_instrument(in_use_since=dt.date(2025, 1, 1))
    assert retire_instrument(instrument=tape, on=TODAY, by=owner, at=NOW).retired_on == TODAY
    assert bring_back_instrument(instrument=tape, by=owner, at=NOW).retired_on is None
    assert list(AuditRow.objects.order_by("id").values_list("deed", flat=True)) == [
        "retire instrument",
        "bring back instrument",
    ]


def test_a_tape_cannot_retire_before_it_came_into_use() -> None:
    tape = make_instrument(in_use_since=dt.date(2026, 5, 1))
    with pytest.raises(InstrumentDatesCross, match="2026-05-01 and cannot retire on 2026-03-02"):
        retire_instrument(instrument=tape, on=TODAY, by=make_user(Role.OWNER), at=NOW)
    tape.refresh_from_db()
    assert tape.retired_on is None


def test_a_correction_says_what_was_there() -> None:
    tape = make_instrument(description="yellow")
    change_instrument(instrument=tape, by=make_user(Role.OWNER), at=NOW, description="white, 150 cm")
    assert AuditRow.objects.get().detail == {"changed": {"description": ["yellow", "white, 150 cm"]}}


def test_an_inspector_numbers_no_tapes() -> None:
    with pytest.raises(NotAllowed):
        add_instrument(by=make_user(Role.INSPECTOR), at=NOW, number="T1")
