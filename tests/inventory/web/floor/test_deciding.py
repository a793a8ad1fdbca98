"""Deciding on the screen, noting defects, and handing photos out."""

from __future__ import annotations

import datetime as dt
import io
from typing import TYPE_CHECKING

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse
from django.utils import timezone
from PIL import Image

from inventory.models import Batch, Defect, Disposition, Photo, Piece
from inventory.services.defects import note_defect
from inventory.services.judging import judge_inspection
from tests import factories
from tests.factories import MM, NOW

if TYPE_CHECKING:
    from django.http import HttpResponse
    from django.test import Client

    from inventory.models import User

pytestmark = pytest.mark.django_db


@pytest.fixture
def owner() -> User:
    return factories.make_user("owner")


def _good(batch: Batch | None = None) -> Piece:
    piece = factories.make_piece(batch)
    factories.make_verdict(piece, shelf="in")
    return piece


def _photo(colour: str = "red") -> SimpleUploadedFile:
    written = io.BytesIO()
    Image.new("RGB", (30, 20), colour).save(written, "JPEG")
    return SimpleUploadedFile("tag.jpg", written.getvalue(), content_type="text/html")


def _decide(client: Client, piece: Piece, **said: object) -> HttpResponse:
    return client.post(reverse("disposition-new", args=[piece.number]), said)  # type: ignore[return-value]  # the test client's own kind


def test_an_inspector_is_offered_release_and_hold_only(client: Client) -> None:
    client.force_login(factories.make_user("inspector"))
    form = client.get(reverse("disposition-new", args=[_good().number])).context["form"]
    assert {code for code, _ in form.fields["decision"].choices} == {"release", "hold"}


def test_a_piece_in_tolerance_is_released(client: Client) -> None:
    client.force_login(factories.make_user("inspector"))
    piece = _good()
    answer = _decide(client, piece, decision="release")
    assert answer.headers["Location"] == reverse("piece", args=[piece.number])
    piece.refresh_from_db()
    assert piece.standing == "release"


def test_an_inspector_sending_the_owners_decision_is_refused(client: Client) -> None:
    client.force_login(factories.make_user("inspector"))
    assert _decide(client, _good(), decision="scrap", reason="x").status_code == 200
    assert not Disposition.objects.exists()


def test_what_is_missing_is_said_at_its_box_and_what_was_typed_stays(client: Client, owner: User) -> None:
    client.force_login(owner)
    answer = client.post(
        reverse("disposition-new", args=[_good().number]), {"decision": "concession", "reason": "harmless"}
    )
    assert "who agreed" in answer.context["form"].errors["agreed_with"][0]
    assert "harmless" in answer.content.decode()


def test_all_that_a_concession_lacks_is_said_at_once(client: Client, owner: User) -> None:
    client.force_login(owner)
    address = reverse("disposition-new", args=[_good().number])
    errors = client.post(address, {"decision": "concession"}).context["form"].errors
    assert set(errors) == {"agreed_with", "ends_on"}
    assert len(errors["agreed_with"]) == 1


def test_an_inspector_reads_no_hint_about_what_they_cannot_choose(client: Client) -> None:
    client.force_login(factories.make_user("inspector"))
    form = client.get(reverse("disposition-new", args=[_good().number])).context["form"]
    hints = " ".join(str(field.help_text) for field in form.fields.values())
    for word in ("second", "rework", "scrap", "concession", "re-label"):
        assert word not in hints.lower()


def test_deciding_shows_which_points_are_out_and_by_how_much(client: Client, owner: User) -> None:
    client.force_login(owner)
    piece = factories.make_piece()
    sitting = factories.make_inspection(piece, finished_at=NOW)
    factories.measure_all(sitting, {("WA", "L"): 30.0})
    judge_inspection(inspection=sitting, by=owner, at=NOW)
    answer = client.get(reverse("disposition-new", args=[piece.number]))
    said = [(row.code, finding.aspect.value, off_nm) for row, finding, off_nm in answer.context["not_in"]]
    assert ("WA", "L", 30 * MM) in said
    assert {code for code, _, _ in said} == {"WA"}
    page = answer.content.decode()
    assert "+30.0 mm off nominal" in page
    assert "out of tolerance beyond doubt" in page


@pytest.mark.parametrize(
    ("claim", "said"), [("out", "out of tolerance beyond doubt"), ("close", "nothing"), ("in", "nothing")]
)
def test_only_out_by_the_claim_rule_is_called_provable(
    client: Client, owner: User, claim: str, said: str
) -> None:
    client.force_login(owner)
    piece = factories.make_piece()
    factories.make_verdict(piece, shelf="out", claim=claim)
    for name in ("piece", "disposition-new"):
        page = client.get(reverse(name, args=[piece.number])).content.decode()
        assert ("nothing beyond doubt" in page) == (said == "nothing")
        assert ("out of tolerance beyond doubt" in page) == (claim == "out")


def test_a_concession_is_recorded_with_its_end(client: Client, owner: User) -> None:
    client.force_login(owner)
    ends = timezone.localdate() + dt.timedelta(days=30)
    _decide(client, _good(), decision="concession", agreed_with="the maker", ends_on=ends.isoformat())
    assert Disposition.objects.get().ends_on == ends


@pytest.mark.parametrize("decision", ["return", "scrap"])
def test_what_leaves_the_house_is_asked_for_twice(client: Client, owner: User, decision: str) -> None:
    client.force_login(owner)
    piece = _good()
    asked = client.post(
        reverse("disposition-new", args=[piece.number]), {"decision": decision, "reason": 'a "quoted" reason'}
    )
    assert not Disposition.objects.exists()
    assert 'value="a &quot;quoted&quot; reason"' in asked.content.decode()
    _decide(client, piece, decision=decision, reason='a "quoted" reason', confirmed="yes")
    assert Disposition.objects.get().reason == 'a "quoted" reason'


def test_a_size_that_was_only_proposed_stands_in_no_other_decisions_way(client: Client, owner: User) -> None:
    client.force_login(owner)
    piece = factories.make_piece()
    factories.make_verdict(piece, shelf="out", size_suspected=True, fits_size="26", size_margin_nm=MM)
    refused = _decide(client, piece, decision="second", reason="waist over", new_size_label="22")
    assert "Only a re-label names a size" in refused.content.decode()
    _decide(client, piece, decision="second", reason="waist over", new_size_label="26")
    assert (Disposition.objects.get().decision, Disposition.objects.get().new_size_label) == ("second", "")


def test_the_size_a_piece_fits_is_chosen_beforehand(client: Client, owner: User) -> None:
    client.force_login(owner)
    piece = factories.make_piece()
    factories.make_verdict(piece, shelf="out", size_suspected=True, fits_size="26", size_margin_nm=MM)
    form = client.get(reverse("disposition-new", args=[piece.number])).context["form"]
    assert form["new_size_label"].value() == "26"


def test_many_are_released_at_once(client: Client) -> None:
    client.force_login(factories.make_user("inspector"))
    batch = factories.make_batch()
    pieces = [_good(batch) for _ in range(3)]
    client.post(
        reverse("batch-dispositions", args=[batch.number]),
        {"decision": "release", "piece": [piece.pk for piece in pieces[:2]]},
    )
    assert list(batch.pieces.order_by("number").values_list("standing", flat=True)) == [
        "release",
        "release",
        "hold",
    ]


def test_one_objection_stops_all_and_the_ticks_stay(client: Client) -> None:
    client.force_login(factories.make_user("inspector"))
    batch = factories.make_batch()
    good, bad = _good(batch), _good(batch)
    factories.make_defect(bad, severity="critical", kind="needle left in")
    answer = client.post(
        reverse("batch-dispositions", args=[batch.number]),
        {"decision": "release", "piece": [good.pk, bad.pk]},
    )
    assert "Nothing was decided" in answer.content.decode()
    assert answer.context["chosen"] == {good.pk, bad.pk}
    assert not Disposition.objects.exists()


def test_pieces_of_another_batch_are_not_decided_here(client: Client, owner: User) -> None:
    client.force_login(owner)
    batch, elsewhere = factories.make_batch(), _good()
    client.post(
        reverse("batch-dispositions", args=[batch.number]), {"decision": "release", "piece": [elsewhere.pk]}
    )
    assert not Disposition.objects.exists()


@pytest.mark.parametrize(("shelf", "ticked"), [("in", 1), ("out", 0)])
def test_only_what_is_in_tolerance_is_ticked_beforehand(
    client: Client, owner: User, shelf: str, ticked: int
) -> None:
    client.force_login(owner)
    piece = factories.make_piece()
    factories.make_verdict(piece, shelf=shelf)
    url = reverse("batch-dispositions", args=[piece.batch.number])
    assert len(client.get(url, {"shelf": shelf}).context["chosen"]) == ticked


def test_many_that_leave_the_house_are_asked_for_twice(client: Client, owner: User) -> None:
    client.force_login(owner)
    batch = factories.make_batch()
    pieces = [_good(batch), _good(batch)]
    said = {"decision": "return", "reason": "waist over", "piece": [piece.pk for piece in pieces]}
    url = reverse("batch-dispositions", args=[batch.number])
    assert "2 pieces chosen" in client.post(url, said).content.decode()
    assert not Disposition.objects.exists()
    client.post(url, said | {"confirmed": "yes"})
    assert Disposition.objects.count() == 2


def test_a_defect_is_noted_with_photos(client: Client) -> None:
    client.force_login(factories.make_user("inspector"))
    piece = factories.make_piece()
    answer = client.post(
        reverse("defect-new", args=[piece.batch.number]),
        {
            "piece": piece.label.lower(),
            "kind": "burr",
            "severity": "critical",
            "zone": "C",
            "count": "1",
            "size_nm": "1/8 in",
            "photos": [_photo(), _photo("blue")],
        },
    )
    assert answer.headers["Location"] == reverse("piece", args=[piece.number])
    defect = Defect.objects.get()
    assert (defect.piece, defect.size_nm, defect.photos.count()) == (piece, 3_175_000, 2)


def test_a_file_that_is_no_photo_is_refused_at_its_box(client: Client) -> None:
    client.force_login(factories.make_user("inspector"))
    batch = factories.make_batch()
    answer = client.post(
        reverse("defect-new", args=[batch.number]),
        {
            "kind": "hole",
            "severity": "major",
            "zone": "A",
            "count": "1",
            "photos": SimpleUploadedFile("x.jpg", b"<html>"),
        },
    )
    assert "cannot be read as a photo" in answer.context["form"].errors["photos"][0]
    assert 'value="hole"' in answer.content.decode()
    assert not Defect.objects.exists()


@pytest.mark.parametrize("typed", ["P999999", "xyz", "B0001"])
def test_a_label_that_is_no_piece_of_the_batch_is_refused(client: Client, typed: str) -> None:
    client.force_login(factories.make_user("inspector"))
    answer = client.post(reverse("defect-new", args=[factories.make_batch().number]), {"piece": typed})
    assert "is no piece of batch" in answer.context["form"].errors["piece"][0]


def test_photos_are_added_later(client: Client) -> None:
    client.force_login(factories.make_user("inspector"))
    defect = factories.make_defect()
    url = reverse("defect-photos", args=[defect.pk])
    assert client.post(url, {}).status_code == 200
    client.post(url, {"photos": [_photo()]})
    assert defect.photos.count() == 1


@pytest.fixture
def kept_photo() -> Photo:
    defect = note_defect(
        batch=factories.make_batch(),
        kind="burr",
        severity="major",
        zone="A",
        by=factories.make_user(),
        at=NOW,
        photos=[_photo()],
    )
    return defect.photos.get()


def test_a_photo_is_shown_as_a_picture_and_nothing_else(client: Client, kept_photo: Photo) -> None:
    client.force_login(factories.make_user("viewer"))
    answer = client.get(reverse("photo", args=[kept_photo.pk]))
    assert answer.headers["Content-Type"] == "image/jpeg"
    assert answer.headers["X-Content-Type-Options"] == "nosniff"
    assert answer.headers["Content-Security-Policy"] == "default-src 'none'; sandbox"
    assert answer.headers["Cache-Control"].startswith("private")
    assert Image.open(io.BytesIO(answer.content)).size == (30, 20)


def test_the_original_is_handed_out_to_keep_byte_for_byte(client: Client, kept_photo: Photo) -> None:
    client.force_login(factories.make_user("viewer"))
    answer = client.get(reverse("photo-original", args=[kept_photo.pk]))
    with kept_photo.original.open("rb") as original:
        assert b"".join(answer) == original.read()
    assert answer.headers["Content-Disposition"] == 'attachment; filename="tag.jpg"'
    assert answer.headers["Content-Type"] == "image/jpeg"


@pytest.mark.parametrize("name", ["photo", "photo-original"])
def test_a_stranger_sees_no_photo(client: Client, kept_photo: Photo, name: str) -> None:
    assert client.get(reverse(name, args=[kept_photo.pk])).status_code == 302
