"""Photos as evidence: the original is kept byte for byte with its SHA-256; what is shown is a fresh copy.

A file is what its content decodes to, never what its name or its sender claims. The copy is turned upright,
scaled down and written anew, so nothing that was hidden in the upload reaches a browser, and the place where
it was taken stays in the original only.
"""

from __future__ import annotations

import datetime as dt
import hashlib
import io
import struct
import warnings
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from typing import TYPE_CHECKING, Final

from django.core.files.base import ContentFile
from django.core.files.storage import default_storage
from django.utils import timezone
from PIL import ExifTags, Image, ImageOps

from inventory.services.refusals import Refused

if TYPE_CHECKING:
    from django.core.files import File

    from inventory.models import Photo

MOST_BYTES: Final = 15 * 1024 * 1024
MOST_PIXELS: Final = 64_000_000
PREVIEW_EDGE_PX: Final = 1600
# Format as decoded to file ending and content type. MPO: a JPEG in which a phone keeps a second picture.
KINDS: Final = {
    "JPEG": (".jpg", "image/jpeg"),
    "MPO": (".jpg", "image/jpeg"),
    "PNG": (".png", "image/png"),
    "WEBP": (".webp", "image/webp"),
}
_READ: Final = ("JPEG", "PNG", "WEBP")
_MB: Final = 1024 * 1024


class PhotoRefused(Refused):
    """The file is no photo we can keep: too large, damaged, or of another kind."""


@dataclass(frozen=True, slots=True)
class CheckedPhoto:
    """An upload that decodes: its bytes untouched, and the copy that will be shown."""

    name: str
    content: bytes
    digest: str
    ending: str
    width_px: int
    height_px: int
    preview: bytes
    taken_at: dt.datetime | None = None


def check_photo(file: File[bytes]) -> CheckedPhoto:
    """Decode an upload completely. Raises `PhotoRefused`. Call it before a transaction, it takes its time."""
    name = (file.name or "photo").replace("\\", "/").rsplit("/", 1)[-1][:120]
    if file.size > MOST_BYTES:
        raise PhotoRefused(
            f"{name} has {file.size / _MB:.1f} MB; a photo may have {MOST_BYTES // _MB}. "
            "Set the camera to a smaller picture, or send fewer pixels.",
            field="photos",
        )
    file.seek(0)
    content = file.read()
    form, width_px, height_px, preview, taken_at = _decode(content, name=name)
    return CheckedPhoto(
        name=name,
        content=content,
        digest=hashlib.sha256(content).hexdigest(),
        ending=KINDS[form][0],
        width_px=width_px,
        height_px=height_px,
        preview=preview,
        taken_at=taken_at,
    )


def preview_of(photo: Photo) -> bytes:
    """The copy to show, as JPEG; made again from the original when it is missing."""
    place = _preview_place(photo.digest)
    if default_storage.exists(place):
        with default_storage.open(place) as kept:
            return bytes(kept.read())
    with photo.original.open("rb") as original:
        preview = _decode(original.read(), name=photo.original_name)[3]
    default_storage.save(place, ContentFile(preview))
    return preview


def keep_preview(checked: CheckedPhoto) -> None:
    """Store the copy under the original's digest, once."""
    place = _preview_place(checked.digest)
    if not default_storage.exists(place):
        default_storage.save(place, ContentFile(checked.preview))


def content_type_of(photo: Photo) -> str:
    """The content type of the original, by the ending it was given when it was decoded."""
    for ending, content_type in KINDS.values():
        if str(photo.original.name).endswith(ending):
            return content_type
    return "application/octet-stream"


def _preview_place(digest: str) -> str:
    return f"previews/{digest[:2]}/{digest}.jpg"


def is_unchanged(photo: Photo) -> bool | None:
    """Whether the original still has the digest it was stored with; None when there is no file any more.

    Read and reckoned again whenever the file's size or time of change is another one.
    """
    try:
        place = photo.original.path
        stat = Path(place).stat()
    except (OSError, ValueError, NotImplementedError):
        return None
    return _digest_of(place, stat.st_size, stat.st_mtime_ns) == photo.digest


@lru_cache(maxsize=4096)
def _digest_of(place: str, _size: int, _changed: int) -> str:
    with Path(place).open("rb") as original:
        return hashlib.file_digest(original, "sha256").hexdigest()


def _taken_at(picture: Image.Image) -> dt.datetime | None:
    """When the camera says it was taken; without a zone, by the clock of the shop. None: it does not say."""
    try:
        said = picture.getexif().get_ifd(ExifTags.IFD.Exif)
        text = str(said.get(ExifTags.Base.DateTimeOriginal, "")).strip("\x00 ")
        zone = str(said.get(ExifTags.Base.OffsetTimeOriginal, "")).strip("\x00 ")
        moment = dt.datetime.strptime(text, "%Y:%m:%d %H:%M:%S")  # noqa: DTZ007  # the zone follows
        if zone:
            return dt.datetime.strptime(f"{text}{zone}", "%Y:%m:%d %H:%M:%S%z")
        return timezone.make_aware(moment)
    except (ValueError, TypeError, KeyError, OSError, struct.error, SyntaxError):
        return None  # whatever a camera wrote wrongly, the photo is good


def _decode(content: bytes, *, name: str) -> tuple[str, int, int, bytes, dt.datetime | None]:
    """Format, width, height, the copy to show, and when it was taken."""
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore", Image.DecompressionBombWarning)  # our own limit is lower
            with Image.open(io.BytesIO(content), formats=_READ) as picture:
                form, width_px, height_px = str(picture.format), picture.width, picture.height
                if width_px * height_px > MOST_PIXELS:
                    raise PhotoRefused(
                        f"{name} has {width_px} × {height_px} pixels; a photo may have "
                        f"{MOST_PIXELS // 1_000_000} million. Set the camera to a smaller picture.",
                        field="photos",
                    )
                picture.verify()
            with Image.open(io.BytesIO(content), formats=_READ) as picture:
                taken_at = _taken_at(picture)
                preview = _preview(picture)
    except PhotoRefused:
        raise
    except Exception as trouble:  # decoders raise many kinds of errors on damaged files
        raise PhotoRefused(
            f"{name} cannot be read as a photo. Send a JPEG, PNG or WebP file "
            "(on some phones: set the camera to “most compatible”).",
            field="photos",
        ) from trouble
    return form, width_px, height_px, preview, taken_at


def _preview(picture: Image.Image) -> bytes:
    picture.draft("RGB", (PREVIEW_EDGE_PX, PREVIEW_EDGE_PX))  # JPEG: decode at a fraction of the size
    upright = ImageOps.exif_transpose(picture)
    upright.thumbnail((PREVIEW_EDGE_PX, PREVIEW_EDGE_PX))
    shown = Image.new("RGB", upright.size, "white")
    if upright.mode in {"RGBA", "LA", "PA"} or "transparency" in upright.info:
        layered = upright.convert("RGBA")
        shown.paste(layered, mask=layered.getchannel("A"))
    else:
        shown.paste(upright.convert("RGB"))
    written = io.BytesIO()
    shown.save(written, "JPEG", quality=82, optimize=True)
    return written.getvalue()
