"""Files brought in: what they were, how their columns were read, and what came of it."""

from __future__ import annotations

from typing import Any, ClassVar

from django.conf import settings
from django.db import models

from inventory.models.jobs import Job


class ImportRun(models.Model):
    class Kind(models.TextChoices):
        SPEC = "spec", "Spec sheet"
        PIECES = "pieces", "Measured pieces"
        WHOLE = "whole", "Whole export"

    class State(models.TextChoices):
        UPLOADED = "uploaded", "Uploaded"
        CHECKING = "checking", "Being checked"
        CHECKED = "checked", "Checked, not stored"
        STORING = "storing", "Being stored"
        STORED = "stored", "Stored"
        FAILED = "failed", "Failed"

    kind = models.CharField(max_length=6, choices=Kind.choices)
    state = models.CharField(max_length=9, choices=State.choices, default=State.UPLOADED)
    file = models.FileField(upload_to="imports/%Y/%m")
    file_name = models.CharField(max_length=160)
    digest = models.CharField(
        max_length=64, db_index=True, help_text="SHA-256: the same file twice is recognised."
    )
    mapping: models.JSONField[dict[str, Any], dict[str, Any]] = models.JSONField(  # Any: JSON
        default=dict, help_text="Sheet, header rows, unit, column meanings."
    )
    report: models.JSONField[dict[str, Any], dict[str, Any]] = models.JSONField(  # Any: JSON
        default=dict, help_text="Counts, row errors, suspicious cells."
    )
    job = models.ForeignKey(Job, models.SET_NULL, null=True, blank=True, related_name="+")
    created_by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")
    created_at = models.DateTimeField()
    stored_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering: ClassVar = ["-id"]
        constraints: ClassVar = [
            models.UniqueConstraint(
                fields=["kind", "digest"], condition=models.Q(state="stored"), name="imports_file_stored_once"
            ),
        ]

    def __str__(self) -> str:
        return self.file_name
