"""Noting defects with photos: what is kept, what is refused, what is shown."""

from __future__ import annotations

import datetime as dt
import hashlib
import io
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from django.conf import settings
from django.core.exceptions import ValidationError
from django.core.files.storage import default_storage
from django.core.files.uploadedfile import SimpleUploadedFile
from PIL import ExifTags, Image

from inventory.access import NotAllowed
from inventory.models import AuditRow, Defect, DefectKind, Photo
from inventory.services import photos as photo_service
from inventory.services.defects import (
    ClassNeedsReason,
    DefectElsewhere,
    NewPhoto,
    add_photos,
    note_defect,
)
from inventory.services.photos import PhotoRefused, check_photo, content_type_of, preview_of
from tests import factories
from tests.factories import MM, NOW

if TYPE_CHECKING:
    from django.core.files import File

pytestmark = pytest.mark.django_db


def picture(form: str = "JPEG", *, size: tuple[int, int] = (40, 20), turned: int | None = None) -> bytes:
    """A small picture with a red left and a blue right half, written by Pillow."""
    drawn = Image.new("RGB", size, "blue")
    drawn.paste("red", (0, 0, size[0] // 2, size[1]))
    exif = Image.Exif()
    if turned is not None:
        exif[ExifTags.Base.Orientation] = turned
        exif[ExifTags.Base.Make] = "a camera that tells"
    written = io.BytesIO()
    drawn.save(written, form, exif=exif)
    return written.getvalue()


def upload(content: bytes | None = None, name: str = "burr.jpg") -> File[bytes]:
    return SimpleUploadedFile(name, picture() if content is None else content)


def _note(**fields: object) -> Defect:
    if "batch" not in fields:
        fields["batch"] = factories.make_batch()
    defaults = {
        "kind": "burr on the busk",
        "severity": "critical",
        "zone": "C",
        "by": factories.make_user(),
        "at": NOW,
    }
    return note_defect(**defaults | fields)  # type: ignore[arg-type]  # a test names only what it is about


def test_a_defect_is_noted_on_a_piece_with_all_that_was_seen() -> None:
    piece = factories.make_piece()
    defect = _note(batch=piece.batch, piece=piece, count=2, size_nm=3 * MM, note=" skin side ")
    defect.refresh_from_db()
    assert (defect.piece, defect.count, defect.size_nm, defect.note) == (piece, 2, 3 * MM, "skin side")
    row = AuditRow.objects.get()
    assert (row.deed, row.subject_id, row.detail["piece"]) == ("note defect", defect.pk, piece.label)


def test_a_defect_may_be_of_the_batch_as_a_whole() -> None:
    assert _note().piece is None


def test_a_piece_of_another_batch_is_refused() -> None:
    with pytest.raises(DefectElsewhere, match="is not of batch"):
        _note(piece=factories.make_piece())


@pytest.mark.parametrize(
    ("field", "value"), [("kind", " "), ("severity", "awful"), ("zone", "D"), ("count", -1)]
)
def test_an_impossible_entry_is_refused_by_name(field: str, value: object) -> None:
    with pytest.raises(ValidationError) as caught:
        _note(**{field: value})
    assert set(caught.value.message_dict) == {field}


def test_a_viewer_may_not_note_defects() -> None:
    defect = _note()
    viewer = factories.make_user("viewer")
    with pytest.raises(NotAllowed):
        _note(by=viewer)
    with pytest.raises(NotAllowed):
        add_photos(defect=defect, photos=[upload()], by=viewer, at=NOW)


@pytest.mark.parametrize(
    ("form", "content_type"), [("JPEG", "image/jpeg"), ("PNG", "image/png"), ("WEBP", "image/webp")]
)
def test_the_original_is_kept_byte_for_byte_with_its_digest(form: str, content_type: str) -> None:
    content = picture(form)
    photo = _note(photos=[upload(content, "IMG 1.bin")]).photos.get()
    with photo.original.open("rb") as kept:
        assert kept.read() == content
    assert photo.digest == hashlib.sha256(content).hexdigest()
    assert (photo.original_name, photo.width_px, photo.height_px) == ("IMG 1.bin", 40, 20)
    assert content_type_of(photo) == content_type


def test_the_file_lies_in_the_data_folder_under_a_name_of_our_own() -> None:
    photo = _note(photos=[upload(name="../../etc/passwd.html")]).photos.get()
    assert photo.original_name == "passwd.html"
    place = Path(photo.original.path)
    assert place.is_relative_to(settings.MEDIA_ROOT)
    assert place.name.startswith(photo.digest)
    assert place.suffix == ".jpg"


def test_the_copy_shown_is_upright_small_and_free_of_what_the_camera_told() -> None:
    photo = _note(photos=[upload(picture(size=(4000, 1000), turned=6))]).photos.get()
    shown = Image.open(io.BytesIO(preview_of(photo)))
    assert shown.format == "JPEG"
    assert (shown.width, shown.height) == (400, 1600)  # turned by a quarter, longest edge 1600
    assert not shown.getexif()
    red, _, blue = shown.convert("RGB").getpixel((200, 100))  # type: ignore[misc]  # RGB has three
    assert (red > 200, blue < 50) == (True, True)  # the left half went to the top


def test_a_jpeg_in_which_a_phone_keeps_a_second_picture_is_a_photo() -> None:
    written = io.BytesIO()
    front, behind = Image.new("RGB", (8, 8), "red"), Image.new("RGB", (4, 4), "blue")
    front.save(written, "MPO", save_all=True, append_images=[behind])
    photo = _note(photos=[upload(written.getvalue(), "phone.jpg")]).photos.get()
    assert content_type_of(photo) == "image/jpeg"
    assert (photo.width_px, photo.height_px) == (8, 8)


def test_a_transparent_picture_is_shown_on_white() -> None:
    written = io.BytesIO()
    Image.new("RGBA", (10, 10), (0, 0, 0, 0)).save(written, "PNG")
    photo = _note(photos=[upload(written.getvalue(), "tag.png")]).photos.get()
    assert Image.open(io.BytesIO(preview_of(photo))).getpixel((5, 5)) == (255, 255, 255)


def test_a_lost_copy_is_made_again_from_the_original() -> None:
    photo = _note(photos=[upload()]).photos.get()
    before = preview_of(photo)
    default_storage.delete(f"previews/{photo.digest[:2]}/{photo.digest}.jpg")
    assert preview_of(photo) == before


@pytest.mark.parametrize(
    ("content", "name"),
    [
        (b"", "empty.jpg"),
        (b"<svg xmlns='http://www.w3.org/2000/svg'><script>alert(1)</script></svg>", "drawing.jpg"),
        (b"%PDF-1.4 not a photo", "scan.png"),
        (picture()[:400], "torn.jpg"),
        (picture("PNG")[:60], "torn.png"),
        (picture("GIF"), "moving.gif"),
        (picture("TIFF"), "scan.tif"),
    ],
)
def test_what_is_no_whole_photo_is_refused_and_nothing_is_kept(content: bytes, name: str) -> None:
    with pytest.raises(PhotoRefused, match=f"{name} cannot be read as a photo. Send a JPEG"):
        _note(photos=[upload(name="good.jpg"), upload(content, name)])
    assert not Defect.objects.exists()
    assert not Photo.objects.exists()


def test_a_file_too_large_is_refused_before_it_is_read() -> None:
    class Heavy(SimpleUploadedFile):
        def read(self, *_: object) -> bytes:
            raise AssertionError("must not be read")

    heavy = Heavy("long.jpg", b"")
    heavy.size = 16 * 1024 * 1024
    with pytest.raises(PhotoRefused, match=r"long.jpg has 16.0 MB; a photo may have 15"):
        check_photo(heavy)


def test_a_picture_with_too_many_pixels_is_refused_before_it_is_unpacked() -> None:
    written = io.BytesIO()
    Image.new("1", (9000, 8000)).save(written, "PNG")  # 72 million pixels in some kilobytes
    with pytest.raises(PhotoRefused, match="9000 × 8000 pixels; a photo may have 64 million"):
        check_photo(upload(written.getvalue(), "bomb.png"))


def test_files_are_taken_away_again_when_the_rows_cannot_be_written(monkeypatch: pytest.MonkeyPatch) -> None:
    def fails(*_: object, **__: object) -> None:
        raise RuntimeError("the disk is full")

    monkeypatch.setattr("inventory.services.defects.leave_row", fails)
    content = picture("PNG", size=(33, 11))
    with pytest.raises(RuntimeError, match="the disk is full"):
        _note(photos=[upload(content)])
    assert not Defect.objects.exists()
    assert not list(Path(settings.MEDIA_ROOT).rglob(f"photos/**/{hashlib.sha256(content).hexdigest()}*"))


def test_photos_are_added_to_a_defect_noted_before() -> None:
    defect = _note(photos=[upload()])
    add_photos(defect=defect, photos=[upload(picture("PNG"))], by=factories.make_user(), at=NOW)
    assert defect.photos.count() == 2
    assert AuditRow.objects.filter(deed="add photos", subject_id=defect.pk).exists()


def test_the_limits_are_those_told_to_people() -> None:
    assert (photo_service.MOST_BYTES, photo_service.MOST_PIXELS) == (15 * 1024 * 1024, 64_000_000)


def _camera_photo(moment: str, zone: str = "") -> bytes:
    """A photo that says when it was taken, as cameras do."""
    exif = Image.Exif()
    said = exif.get_ifd(ExifTags.IFD.Exif)
    said[ExifTags.Base.DateTimeOriginal] = moment
    if zone:
        said[ExifTags.Base.OffsetTimeOriginal] = zone
    written = io.BytesIO()
    Image.new("RGB", (40, 20), "blue").save(written, "JPEG", exif=exif)
    return written.getvalue()


def test_the_time_of_the_camera_is_kept_with_its_zone() -> None:
    defect = _note(photos=[upload(_camera_photo("2026:03:01 08:30:00", "+02:00"))])
    assert defect.photos.get().taken_at == dt.datetime(2026, 3, 1, 6, 30, tzinfo=dt.UTC)


@pytest.mark.parametrize("moment", ["", "yesterday", "2026:13:45 99:00:00", "0000:00:00 00:00:00"])
def test_a_camera_that_gives_no_sensible_time_is_no_hindrance(moment: str) -> None:
    assert check_photo(upload(_camera_photo(moment))).taken_at is None


def test_what_a_photo_shows_is_kept_with_it() -> None:
    close = NewPhoto(upload(), shows=Photo.Shows.CLOSE_UP, rule_in_frame=True)
    photo = _note(photos=[close]).photos.get()
    assert (photo.shows, photo.rule_in_frame) == ("close_up", True)


def test_an_original_that_was_changed_or_is_gone_is_noticed_when_it_is_read() -> None:
    photo = _note(photos=[upload()]).photos.get()
    assert photo_service.is_unchanged(photo) is True
    place = Path(photo.original.path)
    place.write_bytes(place.read_bytes() + b"x")
    assert photo_service.is_unchanged(photo) is False
    place.unlink()
    assert photo_service.is_unchanged(photo) is None


def test_a_kind_of_the_list_is_linked_and_another_class_needs_its_reason() -> None:
    kind = DefectKind.objects.get(name="loose thread ends")
    assert _note(kind="Loose thread ends", severity="minor").known_kind == kind
    with pytest.raises(ClassNeedsReason, match="is usually minor, here it is major"):
        _note(kind="loose thread ends", severity="major")
    assert _note(kind="loose thread ends", severity="major", note="caught in the busk").severity == "major"
    assert _note(kind="something of our own", severity="major").known_kind is None
