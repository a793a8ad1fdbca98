"""The photos of an export: the originals, byte for byte, beside the tables, named by their digest."""

from __future__ import annotations

import shutil
import zipfile
from collections.abc import Iterable, Iterator
from pathlib import PurePosixPath
from typing import TYPE_CHECKING, Final

from django.core.files.storage import default_storage

from inventory.models import Photo

if TYPE_CHECKING:
    from inventory.services.exporting.columns import Line

FOLDER: Final = "photos/"
_FILE: Final = 2  # place of the file's name in a row of the table of photos


def name_pictures(lines: Iterable[Line]) -> Iterator[Line]:
    """The rows of the table of photos, the place on this server replaced by the place in the file."""
    for line in lines:
        stored, digest = line[_FILE], line[_FILE + 2]
        yield (*line[:_FILE], picture_name(digest, str(stored)), *line[_FILE + 1 :])


def picture_name(digest: str, stored: str) -> str:
    """Where the original of a photo lies in the packed export.

    >>> picture_name("ab12", "photos/2026/03/ab12_x7Yz.jpg")
    'photos/ab12.jpg'
    """
    return f"{FOLDER}{digest}{PurePosixPath(stored).suffix}"


def write_pictures(archive: zipfile.ZipFile) -> tuple[int, int]:
    """Put every original into the archive once; return how many, and how many are gone from this server."""
    written: set[str] = set()
    gone = 0
    for digest, stored in Photo.objects.order_by("pk").values_list("digest", "original").iterator(2_000):
        name = picture_name(digest, stored)
        if name in written:
            continue
        if not default_storage.exists(stored):
            gone += 1
            continue
        written.add(name)
        # A photo is compressed already.
        with default_storage.open(stored) as original, archive.open(zipfile.ZipInfo(name), "w") as part:
            shutil.copyfileobj(original, part)
    return len(written), gone
