"""Defects other than size, seen on unpacking."""

from __future__ import annotations

from typing import ClassVar

from django.conf import settings
from django.db import models

from inventory.fields import OptionalNanometreField
from inventory.models.deliveries import Batch
from inventory.models.pieces import Piece


class Severity(models.TextChoices):
    CRITICAL = "critical", "Critical: could hurt, or breaks the law"
    MAJOR = "major", "Major: fails in use, or a buyer would return it"
    MINOR = "minor", "Minor: off standard but saleable"


class DefectKind(models.Model):
    """An editable default: what can be wrong, how bad it usually is, and how to tell."""

    family = models.CharField(max_length=40)
    name = models.CharField(max_length=120)
    severity = models.CharField("usual class", max_length=8, choices=Severity.choices)
    note = models.CharField(max_length=300, blank=True, help_text="When the class changes, or how to tell.")
    source = models.CharField(max_length=120, default="common practice, no source")
    position = models.PositiveSmallIntegerField(default=0)
    is_active = models.BooleanField(default=True)

    class Meta:
        ordering: ClassVar = ["position", "id"]
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["family", "name"], name="defect_kinds_once"),
        ]

    def __str__(self) -> str:
        return self.name


class Defect(models.Model):
    Severity = Severity

    class Zone(models.TextChoices):
        WORN = "A", "A: seen when worn"
        OFF_BODY = "B", "B: seen off the body"
        HIDDEN = "C", "C: inside, hidden"

    batch = models.ForeignKey(Batch, models.PROTECT, related_name="defects")
    piece = models.ForeignKey(Piece, models.PROTECT, null=True, blank=True, related_name="defects")
    kind = models.CharField(max_length=120)
    known_kind = models.ForeignKey(DefectKind, models.PROTECT, null=True, blank=True, related_name="+")
    severity = models.CharField("class", max_length=8, choices=Severity.choices)
    zone = models.CharField(max_length=1, choices=Zone.choices)
    count = models.PositiveSmallIntegerField(default=1)
    size_nm = OptionalNanometreField("size of the defect")
    note = models.CharField(max_length=300, blank=True)
    seen_by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")
    seen_at = models.DateTimeField()

    class Meta:
        ordering: ClassVar = ["id"]
        constraints: ClassVar = [
            models.CheckConstraint(condition=models.Q(count__gte=1), name="defects_at_least_one")
        ]

    def __str__(self) -> str:
        return f"{self.kind} ({self.severity})"


class Photo(models.Model):
    """An original photo of a defect, kept as it came, with its SHA-256."""

    class Shows(models.TextChoices):
        WHOLE = "whole", "whole piece with its tag readable"
        CLOSE_UP = "close_up", "close-up with a rule in the frame"
        LABEL = "label", "label"
        CARTON = "carton", "carton mark"
        OTHER = "other", "something else"

    defect = models.ForeignKey(Defect, models.PROTECT, related_name="photos")
    original = models.FileField(upload_to="photos/%Y/%m")
    original_name = models.CharField(max_length=120)
    digest = models.CharField(max_length=64, help_text="SHA-256 of the original file.")
    shows = models.CharField(max_length=8, choices=Shows.choices, default=Shows.OTHER)
    rule_in_frame = models.BooleanField(
        default=False, help_text="A tape or rule lies in the plane of what is shown, its zero visible."
    )
    taken_at = models.DateTimeField(null=True, blank=True, help_text="As the camera wrote it into the file.")
    width_px = models.PositiveIntegerField()
    height_px = models.PositiveIntegerField()
    added_by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")
    added_at = models.DateTimeField()

    class Meta:
        ordering: ClassVar = ["id"]

    def __str__(self) -> str:
        return self.original_name
