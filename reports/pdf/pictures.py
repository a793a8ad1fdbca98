"""Small pictures for paper: the code on a label, a photo made smaller. All as data addresses."""

from __future__ import annotations

import io
from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING

import segno
from PIL import Image, ImageOps

from reports.pdf.render import as_data_address

if TYPE_CHECKING:
    from inventory.models import Photo

PREVIEW_PX = 900  # 75 mm on paper at 300 dots an inch


@dataclass(frozen=True, slots=True)
class Preview:
    """A photo for paper: its address, and what tells the original apart."""

    address: str
    name: str
    digest: str


@lru_cache(maxsize=1024)
def piece_code(label: str) -> str:
    """The QR code of a piece's label (ISO/IEC 18004, error correction M)."""
    target = io.BytesIO()
    segno.make(label, error="m", micro=False).save(target, kind="svg", border=2, xmldecl=False)
    return as_data_address(target.getvalue(), "image/svg+xml")


def photo_preview(photo: Photo) -> Preview:
    """A smaller copy of a photo, upright; the original stays as it is."""
    with photo.original.open("rb") as original, Image.open(original) as picture:
        upright = ImageOps.exif_transpose(picture).convert("RGB")
        upright.thumbnail((PREVIEW_PX, PREVIEW_PX))
        target = io.BytesIO()
        upright.save(target, format="JPEG", quality=80)
    return Preview(as_data_address(target.getvalue(), "image/jpeg"), photo.original_name, photo.digest[:12])
