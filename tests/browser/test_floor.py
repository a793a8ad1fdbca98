"""The floor in a real browser: accessible in every width and light, whole without a script or a mouse."""

from __future__ import annotations

import datetime as dt
import io
from collections.abc import Callable
from typing import TYPE_CHECKING

import pytest
from django.conf import settings as django_settings
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from django.urls import reverse
from django.utils import timezone
from PIL import Image

from inventory.models import Batch, Delivery, Piece, User
from inventory.models.people import Role
from inventory.services.defects import note_defect
from inventory.services.dispositions import decide_disposition
from inventory.services.judging import judge_inspection
from tests import factories
from tests.browser.seeing import faults_in_every_look, found_by_axe
from tests.factories import MM, NOW

if TYPE_CHECKING:
    from collections.abc import Mapping

    from playwright.sync_api import Browser, Page
    from pytest_django.live_server_helper import LiveServer

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]

SignIn = Callable[[User], "Page"]


def _judged(batch: Batch, off_mm: Mapping[tuple[str, str], float]) -> Piece:
    piece = factories.make_piece(batch, colour="ivory")
    sitting = factories.make_inspection(piece, finished_at=NOW)
    factories.measure_all(sitting, off_mm)
    wrong = sitting.readings.get(point__code="CF", side="L")
    factories.make_reading(
        sitting, "CF", "L", mm=wrong.length_nm / MM, corrects=wrong, reason="read at the wrong height"
    )
    judge_inspection(inspection=sitting, by=sitting.opened_by, at=NOW)
    return piece


def _floor(owner: User) -> Batch:
    """A batch with something of everything: verdicts, defects, a photo, decisions, work to do."""
    delivery = factories.make_delivery(arrived_at=timezone.now() - dt.timedelta(days=12))
    batch = factories.make_batch(delivery=delivery, pieces_announced=9)
    _judged(batch, {})
    out = _judged(batch, {("WA", "L"): 20, ("WA", "R"): 19})
    _judged(batch, {("WA", "L"): 6, ("WA", "R"): 5})
    wrong_size = {(code, side): step for code, step in (("UB", 25), ("WA", 25), ("CF", 5)) for side in "LR"}
    _judged(batch, wrong_size)
    factories.make_inspection(factories.make_piece(batch))
    factories.make_piece(batch)
    written = io.BytesIO()
    Image.new("RGB", (300, 200), "#334").save(written, "JPEG")
    note_defect(
        batch=batch,
        piece=out,
        kind="burr on the busk",
        severity="critical",
        zone="C",
        size_nm=3 * MM,
        by=owner,
        at=NOW,
        photos=[SimpleUploadedFile("tag.jpg", written.getvalue())],
    )
    decide_disposition(piece=out, decision="second", reason="waist over", by=owner, at=NOW)
    return batch


def _addresses(batch: Batch) -> list[str]:
    delivery, out = batch.delivery, batch.pieces.get(standing="second")
    of_batch = ("batch", "batch-history", "pieces-new", "batch-defects", "defect-new")
    of_piece = ("piece", "piece-history", "disposition-new")
    return [
        *(reverse(name) for name in ("home", "deliveries", "delivery-new", "batches", "pieces", "help")),
        *(reverse(name, args=[delivery.number]) for name in ("delivery", "delivery-history", "batch-new")),
        *(reverse(name, args=[batch.number]) for name in of_batch),
        reverse("batch-dispositions", args=[batch.number]) + "?shelf=close",
        *(reverse(name, args=[out.number]) for name in of_piece),
        reverse("defect-photos", args=[batch.defects.get().pk]),
    ]


def test_every_screen_is_accessible_in_every_width_and_light(sign_in: SignIn) -> None:
    owner = factories.make_user(Role.OWNER)
    page = sign_in(owner)
    faults = {}
    for address in _addresses(_floor(owner)):
        answer = page.goto(address, timeout=30_000)
        assert answer is not None
        assert answer.status == 200, address
        if found := faults_in_every_look(page):
            faults[address] = found
    assert faults == {}


def test_an_empty_shop_is_accessible_and_says_what_comes_first(sign_in: SignIn) -> None:
    page = sign_in(factories.make_user(Role.OWNER))
    for address in (reverse(name) for name in ("home", "deliveries", "delivery-new", "batches", "pieces")):
        page.goto(address, timeout=30_000)
        assert found_by_axe(page) == [], address
    page.goto(reverse("home"))
    assert page.get_by_role("heading", name="Before the first parcel").is_visible()


def test_a_refused_decision_is_accessible_and_leads_to_its_box(sign_in: SignIn) -> None:
    piece = factories.make_piece()
    page = sign_in(factories.make_user(Role.OWNER))
    page.goto(reverse("disposition-new", args=[piece.number]), timeout=30_000)
    page.get_by_label("Concession", exact=False).check()
    page.get_by_role("button", name="Decide").press("Enter")
    summary = page.get_by_role("alert")
    assert "who agreed" in summary.inner_text()
    assert found_by_axe(page) == []
    summary.get_by_role("link", name="Agreed with").press("Enter")
    assert page.evaluate("document.activeElement.name") == "agreed_with"


def test_the_question_before_scrapping_is_accessible(sign_in: SignIn) -> None:
    piece = factories.make_piece()
    page = sign_in(factories.make_user(Role.OWNER))
    page.goto(reverse("disposition-new", args=[piece.number]), timeout=30_000)
    page.get_by_label("Scrap", exact=False).check()
    page.get_by_role("textbox", name="Reason").fill("mould")
    page.get_by_role("button", name="Decide").click()
    assert page.get_by_role("heading", name="Scrap this piece?").is_visible()
    assert faults_in_every_look(page) == []
    page.get_by_role("button", name="Scrap it").click()
    page.get_by_text(f"{piece.label}: scrap.").wait_for()
    piece.refresh_from_db()
    assert piece.standing == "scrap"


def test_from_parcel_to_numbered_pieces_without_a_script_and_without_a_mouse(
    chromium: Browser, live_server: LiveServer
) -> None:
    maker, spec = factories.make_maker(), factories.make_spec()
    client = Client()
    client.force_login(factories.make_user(Role.INSPECTOR))
    cookie = client.cookies[django_settings.SESSION_COOKIE_NAME]
    context = chromium.new_context(base_url=live_server.url, java_script_enabled=False)
    context.add_cookies([{"name": cookie.key, "value": cookie.value, "url": live_server.url}])
    page = context.new_page()
    try:
        page.goto(reverse("delivery-new"), timeout=30_000)
        page.get_by_label("Maker").select_option(str(maker.pk))
        page.get_by_label("Order reference").fill("PO-12")
        page.get_by_role("button", name="Receive the delivery").press("Enter")
        page.get_by_role("link", name="Add a batch").first.press("Enter")
        page.get_by_label("Style").select_option(str(spec.style.pk))
        page.get_by_role("button", name="Add the batch").press("Enter")
        page.get_by_label("Colour").first.fill("ivory")
        page.get_by_label("Size 24").first.fill("3")
        page.get_by_role("button", name="One more colour or carton").press("Enter")
        assert page.get_by_label("Size 24").count() == 4
        page.get_by_role("button", name="Number the pieces").press("Enter")
        page.get_by_text("Numbered P000001 to P000003").wait_for()
    finally:
        context.close()
    assert Delivery.objects.get().order_reference == "PO-12"
    assert list(Piece.objects.values_list("size_label", "colour")) == [("24", "ivory")] * 3
