"""A document somebody asked for. Its state is that of the job that makes it."""

from __future__ import annotations

from typing import Any, ClassVar

from django.conf import settings
from django.db import models

from inventory.models import Batch, Job, Piece, Shop, Style


class Document(models.Model):
    class Kind(models.TextChoices):
        PIECE_SHEET = "piece-sheet", "Inspection sheet of a piece"
        BATCH_SHEETS = "batch-sheets", "Inspection sheets of a batch"
        LABELS = "labels", "Labels for the pieces of a batch"
        WORKSHEETS = "worksheets", "Blank bench worksheets for a batch"
        HOW_TO_MEASURE = "how-to-measure", "How-to-measure sheet of a style"

    kind = models.CharField(max_length=16, choices=Kind.choices)
    batch = models.ForeignKey(Batch, models.PROTECT, null=True, blank=True, related_name="documents")
    piece = models.ForeignKey(Piece, models.PROTECT, null=True, blank=True, related_name="documents")
    style = models.ForeignKey(Style, models.PROTECT, null=True, blank=True, related_name="documents")
    paper = models.CharField(max_length=6, choices=Shop.Paper.choices, default=Shop.Paper.A4)
    options: models.JSONField[dict[str, Any], dict[str, Any]] = models.JSONField(  # Any: JSON
        default=dict, blank=True, help_text="What else was chosen, such as the first free label."
    )
    requested_by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")
    requested_at = models.DateTimeField()
    job = models.OneToOneField(Job, models.PROTECT, related_name="document")
    file = models.FileField(upload_to="documents/%Y/%m", blank=True)
    digest = models.CharField(max_length=64, blank=True, help_text="SHA-256 of the file.")
    size_bytes = models.PositiveBigIntegerField(null=True, blank=True)
    pages = models.PositiveIntegerField(null=True, blank=True)

    class Meta:
        ordering: ClassVar = ["-id"]
        constraints: ClassVar = [
            models.CheckConstraint(
                name="documents_about_one_thing",
                condition=(
                    models.Q(batch__isnull=False, piece__isnull=True, style__isnull=True)
                    | models.Q(batch__isnull=True, piece__isnull=False, style__isnull=True)
                    | models.Q(batch__isnull=True, piece__isnull=True, style__isnull=False)
                ),
            ),
        ]

    def __str__(self) -> str:
        return f"{self.get_kind_display()}: {self.subject_label}"

    @property
    def subject_label(self) -> str:
        """The label of what the document is about."""
        if self.piece is not None:
            return self.piece.label
        if self.batch is not None:
            return self.batch.label
        return self.style.code if self.style is not None else ""

    @property
    def file_name(self) -> str:
        """What the file is called when it is downloaded."""
        return f"{self.kind}-{self.subject_label}-{self.paper}.pdf".lower()
