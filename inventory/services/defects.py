"""Note defects seen on unpacking, with photos."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from django.core.files.base import ContentFile
from django.core.files.storage import default_storage
from django.db import transaction

from inventory.access import Deed, require
from inventory.models import Defect, DefectKind, Photo
from inventory.services.audit import leave_row
from inventory.services.photos import CheckedPhoto, check_photo, keep_preview
from inventory.services.refusals import Refused

if TYPE_CHECKING:
    import datetime as dt

    from django.core.files import File

    from inventory.models import Batch, Piece, User


class DefectElsewhere(Refused):
    """The piece named with a defect is of another batch."""


class ClassNeedsReason(Refused):
    """The class is another than the usual one of this kind, and nobody says why."""


@dataclass(frozen=True, slots=True)
class NewPhoto:
    """An upload with what it shows."""

    file: File[bytes]
    shows: str = Photo.Shows.OTHER
    rule_in_frame: bool = False


def note_defect(
    *,
    batch: Batch,
    kind: str,
    severity: str,
    zone: str,
    by: User,
    at: dt.datetime,
    piece: Piece | None = None,
    count: int = 1,
    size_nm: int | None = None,
    note: str = "",
    photos: Sequence[File[bytes] | NewPhoto] = (),
) -> Defect:
    """Note one kind of defect on a batch or one of its pieces; all photos are kept, or nothing is.

    A kind named as in the shop's list is linked with it. Raises `PhotoRefused`, `DefectElsewhere`,
    `ClassNeedsReason`, or ValidationError by field.
    """
    require(by, Deed.NOTE_DEFECT)
    if piece is not None and piece.batch_id != batch.pk:
        raise DefectElsewhere(
            f"Piece {piece.label} is not of batch {batch.label}. Choose one of its pieces.", field="piece"
        )
    known = DefectKind.objects.filter(name__iexact=kind.strip(), is_active=True).first()
    if known is not None and severity in known_classes() and severity != known.severity and not note.strip():
        raise ClassNeedsReason(
            f"“{known.name}” is usually {known.severity}, here it is {severity}. Say in the note why.",
            field="note",
        )
    defect = Defect(
        batch=batch,
        piece=piece,
        known_kind=known,
        kind=kind.strip(),
        severity=severity,
        zone=zone,
        count=count,
        size_nm=size_nm,
        note=note.strip(),
        seen_by=by,
        seen_at=at,
    )
    defect.clean_fields(exclude={"batch", "piece", "known_kind", "seen_by"})
    checked = _checked(photos)  # slow, so outside of the transaction
    _store(defect, checked, by=by, at=at, new=True)
    return defect


def known_classes() -> frozenset[str]:
    """The codes of the classes."""
    return frozenset(Defect.Severity.values)


def add_photos(
    *, defect: Defect, photos: Sequence[File[bytes] | NewPhoto], by: User, at: dt.datetime
) -> list[Photo]:
    """More photos of a defect noted before. Raises `PhotoRefused`; then none is kept."""
    require(by, Deed.NOTE_DEFECT)
    return _store(defect, _checked(photos), by=by, at=at, new=False)


def _checked(photos: Sequence[File[bytes] | NewPhoto]) -> list[tuple[NewPhoto, CheckedPhoto]]:
    """Each upload decoded, with what it shows."""
    named = [photo if isinstance(photo, NewPhoto) else NewPhoto(photo) for photo in photos]
    return [(photo, check_photo(photo.file)) for photo in named]


def _store(
    defect: Defect,
    checked: Sequence[tuple[NewPhoto, CheckedPhoto]],
    *,
    by: User,
    at: dt.datetime,
    new: bool,
) -> list[Photo]:
    kept: list[Photo] = []
    try:
        for said, photo in checked:
            keep_preview(photo)
            row = Photo(
                shows=said.shows,
                rule_in_frame=said.rule_in_frame,
                taken_at=photo.taken_at,
                original_name=photo.name,
                digest=photo.digest,
                width_px=photo.width_px,
                height_px=photo.height_px,
                added_by=by,
                added_at=at,
            )
            row.original.save(f"{photo.digest}{photo.ending}", ContentFile(photo.content), save=False)
            kept.append(row)
        _write(defect, kept, by=by, at=at, new=new)
    except BaseException:
        for row in kept:
            default_storage.delete(str(row.original.name))
        raise
    return kept


@transaction.atomic
def _write(defect: Defect, photos: Sequence[Photo], *, by: User, at: dt.datetime, new: bool) -> None:
    if new:
        defect.save(force_insert=True)
    for photo in photos:
        photo.defect = defect
        photo.save(force_insert=True)
    leave_row(
        who=by,
        deed="note defect" if new else "add photos",
        subject=defect,
        at=at,
        batch=defect.batch.label,
        piece=defect.piece.label if defect.piece else None,
        photos=[photo.digest for photo in photos],
    )
