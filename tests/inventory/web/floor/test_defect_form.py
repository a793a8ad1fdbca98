"""The form a defect is noted with."""

from __future__ import annotations

from pathlib import Path

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from django.urls import reverse

from inventory.calc.length import Unit
from inventory.models import Defect, DefectKind, Photo
from inventory.models.people import Role
from inventory.web.floor.forms.defects import DefectForm
from tests.factories import make_batch, make_defect, make_user
from tests.inventory.services.test_defects import picture

pytestmark = pytest.mark.django_db


@pytest.mark.parametrize(
    ("unit", "words"),
    [
        (Unit.INCH, "In inches unless you type another unit."),
        (Unit.MM, "In mm unless you type another unit."),
    ],
)
def test_the_size_says_in_words_what_a_bare_figure_means(unit: Unit, words: str) -> None:
    form = DefectForm(batch=make_batch(), unit=unit)
    assert form.fields["size_nm"].help_text == words


def test_the_kinds_of_the_shop_are_offered_and_each_zone_is_drawn(client: Client) -> None:
    client.force_login(make_user(Role.OWNER))
    DefectKind.objects.filter(name="stud loose").update(is_active=False)
    page = client.get(reverse("defect-new", args=[make_batch().number])).content.decode()
    assert '<option value="loose thread ends">' in page
    assert '<option value="stud loose">' not in page
    assert page.count('<svg class="zone-map"') == 3
    choice = page.partition('class="zone-choice"')[2].partition("</fieldset>")[0]
    assert choice.count("A: seen when worn") == 1


def test_photos_are_kept_with_what_they_show_and_the_page_says_that_the_original_is_unchanged(
    client: Client,
) -> None:
    client.force_login(make_user(Role.INSPECTOR))
    batch = make_batch()
    boxes = {
        "kind": "loose thread ends",
        "severity": "minor",
        "zone": "B",
        "count": "2",
        "rule_in_frame": "on",
        "whole": SimpleUploadedFile("whole.png", picture("PNG")),
        "close_up": SimpleUploadedFile("close.png", picture("PNG", size=(30, 20))),
    }
    page = client.post(reverse("defect-new", args=[batch.number]), boxes, follow=True).content.decode()
    shown = {photo.shows: photo.rule_in_frame for photo in Photo.objects.all()}
    assert shown == {"whole": False, "close_up": True}
    assert page.count("original unchanged") == 2
    assert "rule in the frame" in page
    place = Path(Photo.objects.all()[0].original.path)
    place.write_bytes(b"another")
    page = client.get(reverse("batch-defects", args=[batch.number])).content.decode()
    assert "file differs from its hash" in page


def test_another_class_than_the_usual_one_asks_for_its_reason_in_the_form(client: Client) -> None:
    client.force_login(make_user(Role.INSPECTOR))
    boxes = {"kind": "loose thread ends", "severity": "major", "zone": "B", "count": "1"}
    page = client.post(reverse("defect-new", args=[make_batch().number]), boxes).content.decode()
    assert "is usually minor, here it is major. Say in the note why." in page
    assert not Defect.objects.exists()


def test_more_photos_without_any_is_refused(client: Client) -> None:
    client.force_login(make_user(Role.INSPECTOR))
    address = reverse("defect-photos", args=[make_defect().pk])
    assert "No photo was chosen. Choose one at least." in client.post(address, {}).content.decode()
