"""Physical garments, each with a number of its own, on hold until somebody decides."""

from __future__ import annotations

from typing import ClassVar

from django.db import models

from inventory.models.deliveries import Batch


class Standing(models.TextChoices):
    """What is done with a piece; `hold` until decided otherwise."""

    HOLD = "hold", "Hold"
    RELEASE = "release", "Release"
    CONCESSION = "concession", "Concession"
    SECOND = "second", "Second"
    RELABEL = "relabel", "Re-label"
    REWORK = "rework", "Rework"
    RETURN = "return", "Return"
    SCRAP = "scrap", "Scrap"


class Piece(models.Model):
    number = models.PositiveBigIntegerField(unique=True, editable=False)
    batch = models.ForeignKey(Batch, models.PROTECT, related_name="pieces", db_index=False)
    size_label = models.CharField("size on the label", max_length=12)
    colour = models.CharField(max_length=40, blank=True)
    carton = models.CharField(max_length=20, blank=True)
    maker_reference = models.CharField(
        max_length=40, blank=True, help_text="The maker's or an old number, if any."
    )
    standing = models.CharField(
        max_length=10,
        choices=Standing.choices,
        default=Standing.HOLD,
        help_text="The latest disposition; written only by the disposition service.",
    )
    created_at = models.DateTimeField()

    class Meta:
        ordering: ClassVar = ["number"]
        indexes: ClassVar = [
            # pieces of a batch in label order: queries.batches
            models.Index(fields=["batch", "number"], name="pieces_of_batch"),
        ]

    def __str__(self) -> str:
        return self.label

    @property
    def label(self) -> str:
        """What is printed on the tag and coded in its QR."""
        return f"P{self.number:06d}"
