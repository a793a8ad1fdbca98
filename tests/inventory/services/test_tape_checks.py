"""Laying a tape beside the steel rule."""

from __future__ import annotations

import pytest

from inventory.access import NotAllowed
from inventory.calc.errors import CalcError, ImpossibleInput
from inventory.calc.length import Unit
from inventory.models import AuditRow, Instrument, TapeCheck, TapeCheckReading
from inventory.models.people import Role
from inventory.services.tape_checks import CannotCheckTape, TypedLength, check_tape
from tests.factories import MM, NOW, make_instrument, make_user, the_shop

pytestmark = pytest.mark.django_db


def checked(tape: Instrument, near: str = "300", far: str = "800", **more: object) -> TapeCheck:
    said: dict[str, object] = {
        "instrument": tape,
        "lengths": [TypedLength("300", (near,)), TypedLength("800", (far,))],
        "unit": Unit.MM,
        "at": NOW,
    }
    if "by" not in more:
        more["by"] = make_user()
    return check_tape(**{**said, **more})  # type: ignore[arg-type]  # a test names what it is about


def test_a_check_keeps_what_was_read_and_what_it_found() -> None:
    tape, rule = make_instrument(), make_instrument(kind=Instrument.Kind.RULE)
    check = checked(tape, "297", "792", against=rule, note="  new  ")
    assert check.outcome == TapeCheck.Outcome.NOT_GOOD
    assert (round(check.start_error_nm), round(check.stretch_ppm)) == (0, -10_000)
    assert [(r.rule_length_nm, r.typed, r.length_nm) for r in check.readings.all()] == [
        (300 * MM, "297", 297 * MM),
        (800 * MM, "792", 792 * MM),
    ]
    assert check.note == "new"
    row = AuditRow.objects.filter(deed="check tape").get()
    assert (row.subject_id, row.detail["outcome"]) == (tape.pk, "not_good")


def test_repeats_and_the_order_of_the_lengths_do_not_matter() -> None:
    tape = make_instrument()
    check = checked(
        tape,
        lengths=[TypedLength("80 cm", ("800", "80.1 cm")), TypedLength("300", ("300", "300"))],
    )
    assert [length["rule_nm"] for length in check.document["lengths"]] == [300 * MM, 800 * MM]
    assert check.readings.count() == 4


def test_a_tape_of_a_class_is_held_to_its_class_whatever_else_is_said() -> None:
    tape = make_instrument(accuracy_class="II", division_nm=MM // 10)
    # 1 mm off, where class II allows 0.5 mm within the first metre (Directive 2014/32/EU, MI-008).
    assert checked(tape, "301", "801", allowed_nm=5 * MM).outcome == TapeCheck.Outcome.NOT_GOOD
    assert checked(tape, "300", "800").outcome == TapeCheck.Outcome.GOOD


@pytest.mark.parametrize(
    ("lengths", "says"),
    [
        # Ten centimetres off: read from the wrong end.
        ([TypedLength("300", ("400",)), TypedLength("800", ("900",))], "not a tape error"),
        ([TypedLength("300", ("300",)), TypedLength("300", ("300",))], "too little to tell stretch"),
        ([TypedLength("300", ("300",)), TypedLength("310", ("310",))], "at least 150 mm apart"),
        ([TypedLength("0", ("0",)), TypedLength("800", ("800",))], "above zero"),
        ([TypedLength("300", ("300", "312")), TypedLength("800", ("800",))], "Read both again"),
        ([TypedLength("300", ()), TypedLength("800", ("800",))], "at least one reading"),
        ([TypedLength("300", ("thirty",)), TypedLength("800", ("800",))], "thirty"),
    ],
)
def test_what_is_no_check_is_refused_and_nothing_is_stored(lengths: list[TypedLength], says: str) -> None:
    with pytest.raises(CalcError, match=says):
        checked(make_instrument(), lengths=lengths)
    assert not TapeCheck.objects.exists()
    assert not TapeCheckReading.objects.exists()


def test_the_refusal_of_an_absurd_error_asks_whether_both_began_at_zero() -> None:
    with pytest.raises(ImpossibleInput, match="Lay both from zero"):
        checked(make_instrument(), "400", "900")


def test_a_rule_is_not_checked_nor_a_tape_out_of_use_nor_against_a_tape() -> None:
    tape = make_instrument()
    for instrument, against, says in (
        (make_instrument(kind=Instrument.Kind.RULE), None, "is no tape"),
        (make_instrument(retired_on=NOW.date()), None, "out of use"),
        (tape, make_instrument(), "no steel rule"),
    ):
        with pytest.raises(CannotCheckTape, match=says):
            checked(instrument, against=against)
    with pytest.raises(CannotCheckTape, match="Read the tape at two"):
        checked(tape, lengths=[TypedLength("300", ("300",))])


def test_who_may_not_measure_may_not_check() -> None:
    with pytest.raises(NotAllowed):
        checked(make_instrument(), by=make_user(Role.VIEWER))


def test_each_check_and_each_change_of_a_tape_counts_up_what_is_known() -> None:
    tape = make_instrument()
    before = the_shop().instruments_version
    checked(tape)
    tape.accuracy_class = "II"
    tape.save()
    assert the_shop().instruments_version == before + 2
