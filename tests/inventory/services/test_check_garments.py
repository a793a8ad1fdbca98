"""The check garment: kept, measured, begun anew."""

from __future__ import annotations

import datetime as dt

import pytest

from inventory.access import NotAllowed
from inventory.models import AuditRow, CheckGarment, CheckSitting, Style
from inventory.models.people import Role
from inventory.services.check_garments import (
    CannotKeepGarment,
    SittingNotRead,
    begin_baseline_anew,
    finish_check_sitting,
    open_check_sitting,
    retire_check_garment,
    set_up_check_garment,
)
from tests.factories import (
    NOW,
    make_check_garment,
    make_check_sitting,
    make_instrument,
    make_style,
    make_user,
    read_check_garment,
)

pytestmark = pytest.mark.django_db


def kept(style: Style, *, codes: tuple[str, ...] = ("WA",), **more: object) -> CheckGarment:
    said: dict[str, object] = {
        "code": "KEEP-1",
        "style": style,
        "points": list(style.points.filter(code__in=codes)),
        "by": make_user(Role.OWNER),
        "at": NOW,
    }
    return set_up_check_garment(**{**said, **more})  # type: ignore[arg-type]  # a test names what it is about


def test_a_kept_garment_counts_from_its_first_sitting() -> None:
    garment = kept(make_style(), codes=("WA", "CF"), kept_where=" drawer 3 ")
    assert (garment.kept_where, garment.baseline_from, garment.points.count()) == ("drawer 3", NOW, 2)
    assert AuditRow.objects.get(deed="set up check garment").detail == {"points": ["CF", "WA"]}


def test_what_is_no_check_garment_is_refused_and_not_stored() -> None:
    style, other = make_style(), make_style()
    kept(style, code="taken")
    for more, says in (
        ({"code": "Taken"}, "is on another"),
        ({"code": "two words"}, "does not do"),
        ({"points": []}, "0 points were chosen"),
        ({"points": list(other.points.all())}, "belong to another style"),
        ({"baseline_sittings": 4}, "4 sittings does not do"),
    ):
        with pytest.raises(CannotKeepGarment, match=says):
            kept(style, **more)
    assert CheckGarment.objects.count() == 1


def test_a_person_has_one_open_sitting_and_another_person_their_own() -> None:
    garment, tape, one, other = make_check_garment(), make_instrument(), make_user(), make_user()
    sitting = open_check_sitting(garment=garment, by=one, at=NOW, instrument=tape)
    assert sitting.instrument == tape
    assert open_check_sitting(garment=garment, by=one, at=NOW) == sitting
    assert open_check_sitting(garment=garment, by=other, at=NOW) != sitting
    retire_check_garment(garment=garment, by=make_user(Role.OWNER), at=NOW)
    with pytest.raises(CannotKeepGarment, match="is retired"):
        open_check_sitting(garment=garment, by=one, at=NOW)


def test_a_sitting_is_finished_when_everything_is_read() -> None:
    sitting = make_check_sitting(make_check_garment(codes=("WA",)))
    with pytest.raises(SittingNotRead, match="WA L, WA R"):
        finish_check_sitting(sitting=sitting, by=sitting.opened_by, at=NOW)
    read = read_check_garment(sitting.garment, {"WA": 355})
    CheckSitting.objects.filter(pk=read.pk).update(finished_at=None)
    later = NOW + dt.timedelta(hours=1)
    assert finish_check_sitting(sitting=read, by=read.opened_by, at=later).finished_at == later
    assert finish_check_sitting(sitting=read, by=read.opened_by, at=NOW).finished_at == later


def test_a_baseline_begins_anew_with_a_reason_only() -> None:
    garment, owner = make_check_garment(), make_user(Role.OWNER)
    with pytest.raises(CannotKeepGarment, match="Say why"):
        begin_baseline_anew(garment=garment, reason=" ", by=owner, at=NOW)
    later = NOW + dt.timedelta(days=9)
    assert begin_baseline_anew(garment=garment, reason="mended", by=owner, at=later).baseline_from == later


def test_setting_up_is_the_owners_and_measuring_is_not_a_viewers() -> None:
    garment, inspector = make_check_garment(), make_user()
    with pytest.raises(NotAllowed):
        kept(make_style(), by=inspector)
    for deed in (retire_check_garment, lambda **said: begin_baseline_anew(reason="x", **said)):
        with pytest.raises(NotAllowed):
            deed(garment=garment, by=inspector, at=NOW)
    with pytest.raises(NotAllowed):
        open_check_sitting(garment=garment, by=make_user(Role.VIEWER), at=NOW)
