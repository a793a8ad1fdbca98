"""The photos of an export: looked through when it is checked, kept on the server when it is restored.

A picture is taken only if its bytes have the digest that its row names and decode to a picture, as at upload.
"""

from __future__ import annotations

import hashlib
import zipfile
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from typing import TYPE_CHECKING, BinaryIO

from django.core.files.base import ContentFile
from django.core.files.storage import default_storage

from inventory.models import Photo
from inventory.services.importing.refusals import FileNotReadable
from inventory.services.photos import MOST_BYTES, PhotoRefused, check_photo, keep_preview

if TYPE_CHECKING:
    from collections.abc import Callable

    from inventory.services.importing.report import Report
    from inventory.services.importing.restored_rows import Rows


def check_pictures(file: BinaryIO, photos: Rows, report: Report) -> None:
    """Say which photos have no picture in the file, and which picture is not the one its row names."""
    wanted = _wanted(photos)
    there = 0
    for name, digest, content in _pictures(file, wanted):
        if content is None or hashlib.sha256(content).hexdigest() != digest:
            report.error(0, "photos", f"Picture {name} is not the one that was written. Write a new export.")
        there += 1
    if there < len(wanted):
        report.remarks.append(
            f"{len(wanted) - there} of {len(wanted)} photos of defects have no picture in this file; they "
            "are left out. The zipped tables hold the pictures as well."
        )


@contextmanager
def kept_pictures(
    file: BinaryIO, photos: Rows, *, said: Callable[[int, int], None]
) -> Iterator[Mapping[str, str]]:
    """Store the pictures; where each lies, by its name in the file. An error inside takes them back.

    Raises `FileNotReadable` for one that is not the picture its row names, or none at all.
    """
    wanted = _wanted(photos)
    places: dict[str, str] = {}
    try:
        for name, digest, content in _pictures(file, wanted):
            said(len(places), len(wanted))
            places[name] = _keep(name, digest, content)
        yield places
    except BaseException:
        for place in places.values():
            default_storage.delete(place)
        raise


def _keep(name: str, digest: str, content: bytes | None) -> str:
    try:
        checked = check_photo(ContentFile(content or b"", name=name))
    except PhotoRefused as refusal:
        raise FileNotReadable(f"The export is damaged: {refusal}", field="file") from refusal
    if checked.digest != digest:
        raise FileNotReadable(f"Picture {name} is not the one that was written. Write a new export.")
    keep_preview(checked)
    field = Photo._meta.get_field("original")  # noqa: SLF001  # Django's documented way to a model's fields
    place = field.generate_filename(Photo(), f"{digest}{checked.ending}")
    return default_storage.save(place, ContentFile(checked.content))


def _wanted(photos: Rows) -> dict[str, str]:
    """The digest of each picture by its name in the file."""
    return {row["original"]: row["digest"] for row in photos}


def _pictures(file: BinaryIO, wanted: Mapping[str, str]) -> Iterator[tuple[str, str, bytes | None]]:
    """Name, digest and bytes of those pictures in the file; no bytes for one too large or damaged."""
    if not wanted or not zipfile.is_zipfile(file):
        return
    with zipfile.ZipFile(file) as archive:
        sizes = {entry.filename: entry.file_size for entry in archive.infolist()}
        for name, digest in wanted.items():
            if name in sizes:
                yield name, digest, _unpacked(archive, name) if sizes[name] <= MOST_BYTES else None


def _unpacked(archive: zipfile.ZipFile, name: str) -> bytes | None:
    try:
        return archive.read(name)
    except Exception:  # noqa: BLE001  # zipfile and its packers raise a dozen kinds for what is damaged
        return None
