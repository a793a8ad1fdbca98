"""The check garment's screens, from keeping one to what it says."""

from __future__ import annotations

import datetime as dt
import uuid

import pytest
from django.urls import reverse
from django.utils import timezone

from inventory.models import CheckGarment, CheckSitting
from inventory.models.people import Role
from tests.factories import make_batch, make_check_garment, make_style, make_user, read_check_garment
from tests.inventory.web.own.test_tapes import client_of, text_of

pytestmark = pytest.mark.django_db


def test_the_owner_keeps_a_garment_of_a_style_with_some_of_its_points() -> None:
    style, client = make_style(), client_of(Role.OWNER)
    address = f"{reverse('check-garment-new')}?style={style.pk}"
    assert "half waist" in client.get(address).content.decode()
    waist = style.points.get(code="WA")
    boxes = {"code": "KEEP-1", "points": [waist.pk], "baseline_sittings": "3"}
    refused = client.post(address, boxes).content.decode()
    assert "3 sittings does not do" in refused
    assert not CheckGarment.objects.exists()
    client.post(address, boxes | {"baseline_sittings": "6"})
    assert list(CheckGarment.objects.get(code="KEEP-1").points.all()) == [waist]


def test_a_sitting_is_measured_at_the_bench_and_finished() -> None:
    garment, client = make_check_garment(codes=("WA",), code="KEEP-1"), client_of()
    assert "KEEP-1 was not measured today" in text_of(client, "bench")
    opened = client.post(reverse("check-sitting-new", args=["KEEP-1"]), {})
    sitting = CheckSitting.objects.get()
    assert opened["Location"] == reverse("check-sitting", args=["KEEP-1", sitting.pk])
    assert "KEEP-1" in client.get(opened["Location"]).content.decode()
    finish = reverse("check-sitting-finish", args=["KEEP-1", sitting.pk])
    assert "Still to read" in client.post(finish, follow=True).content.decode()
    for side in "LR":
        client.post(
            reverse("check-sitting-readings", args=["KEEP-1", sitting.pk]),
            {"step": f"WA-{side}", "code": "WA", "side": side, "typed": "355", "key": str(uuid.uuid4())},
        )
    assert sitting.readings.count() == 2
    client.post(finish)
    sitting.refresh_from_db()
    assert sitting.finished_at is not None
    assert "not enough yet" in text_of(client, "check-garment", garment.code)
    assert "was not measured today" not in text_of(client, "bench")


def test_that_our_measuring_has_moved_is_said_before_any_maker_is_blamed() -> None:
    now = timezone.now()
    garment = make_check_garment(codes=("WA",), code="KEEP-1", baseline_from=now - dt.timedelta(days=40))
    by, client, batch = make_user(), client_of(), make_batch()
    waists = (355, 356, 355, 354, 355, 356, 355, 355)
    for number, waist in enumerate(waists):
        read_check_garment(garment, {"WA": waist}, by=by, at=now - dt.timedelta(days=30 - number))
    assert "Our measuring has moved" not in text_of(client, "home")
    read_check_garment(garment, {"WA": 368}, by=by, at=now - dt.timedelta(minutes=1))
    for name, args in (("home", ()), ("batch", (batch.number,)), ("check-garment", ("KEEP-1",))):
        assert "Our measuring has moved" in text_of(client, name, *args)
    page = text_of(client, "check-garment", "KEEP-1")
    assert page.count('<svg class="run-chart"') == 2
    assert "run-signal" in page


def test_a_baseline_begins_anew_and_a_garment_is_retired_by_the_owner() -> None:
    make_check_garment(code="KEEP-1")
    client = client_of(Role.OWNER)
    before = CheckGarment.objects.get().baseline_from
    client.post(reverse("check-garment-anew", args=["KEEP-1"]), {"reason": "mended"})
    assert CheckGarment.objects.get().baseline_from > before
    assert "KEEP-1" in text_of(client, "check-garment-retire", "KEEP-1")
    client.post(reverse("check-garment-retire", args=["KEEP-1"]))
    assert CheckGarment.objects.get().retired_on is not None
    assert "retired" in text_of(client, "check-garments")
