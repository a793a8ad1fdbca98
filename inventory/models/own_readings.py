"""Readings of our own measuring: of the check garment and of studies. They judge us, never a maker.

They stand in tables of their own, so no figure of a batch can ever count them.
"""

from __future__ import annotations

from typing import ClassVar

from django.conf import settings
from django.db import models

from inventory.fields import NanometreField
from inventory.models.inspections import Side
from inventory.models.instruments import Instrument
from inventory.models.shop import LengthUnit
from inventory.models.styles import MeasurePoint, Style


class OwnReading(models.Model):
    """One figure, by one person, once. As typed and as exact length; a correction is a new row."""

    point = models.ForeignKey(MeasurePoint, models.PROTECT, related_name="+")
    side = models.CharField(max_length=1, choices=Side.choices)
    typed = models.CharField(max_length=40)
    unit = models.CharField(max_length=2, choices=LengthUnit.choices, help_text="The unit it was read in.")
    length_nm = NanometreField()
    instrument = models.ForeignKey(Instrument, models.PROTECT, null=True, blank=True, related_name="+")
    taken_by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")
    taken_at = models.DateTimeField(help_text="When it was read, by the reader's clock.")
    recorded_at = models.DateTimeField(help_text="When it was stored.")
    client_key = models.UUIDField(
        null=True, blank=True, unique=True, help_text="The sender's own key: stored exactly once."
    )
    corrects = models.OneToOneField(
        "self", models.PROTECT, null=True, blank=True, related_name="corrected_by"
    )
    reason = models.CharField(max_length=200, blank=True, help_text="Why a reading corrects another.")

    class Meta:
        abstract = True

    def __str__(self) -> str:
        # Without its figure: the audit trail is open while a study is still blind.
        return f"{self.point.code} {self.side}"


class CheckGarment(models.Model):
    """A kept piece, measured at the start of sittings: if it seems to change, our measuring has."""

    code = models.SlugField(max_length=20, unique=True)
    style = models.ForeignKey(Style, models.PROTECT, related_name="check_garments")
    size_label = models.CharField("size", max_length=12, blank=True)
    points: models.ManyToManyField[MeasurePoint, MeasurePoint] = models.ManyToManyField(
        MeasurePoint, related_name="+", help_text="What is read of it, in walk order."
    )
    baseline_sittings = models.PositiveSmallIntegerField(
        default=8, help_text="So many sittings say what it measures before it can say that we moved."
    )
    baseline_from = models.DateTimeField(
        help_text="Sittings before this do not count: begun anew after a repair or a new tape."
    )
    kept_where = models.CharField(
        "kept", max_length=120, blank=True, help_text="Flat, dark, dry; which shelf."
    )
    note = models.CharField(max_length=300, blank=True)
    since = models.DateField()
    retired_on = models.DateField(null=True, blank=True)

    class Meta:
        ordering: ClassVar = ["code"]

    def __str__(self) -> str:
        return f"Check garment {self.code}"


class CheckSitting(models.Model):
    """The check garment measured once by one person."""

    garment = models.ForeignKey(CheckGarment, models.PROTECT, related_name="sittings")
    unit = models.CharField(max_length=2, choices=LengthUnit.choices)
    instrument = models.ForeignKey(Instrument, models.PROTECT, null=True, blank=True, related_name="+")
    opened_by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")
    opened_at = models.DateTimeField()
    finished_at = models.DateTimeField(null=True, blank=True)
    room_temperature_c = models.DecimalField(max_digits=4, decimal_places=1, null=True, blank=True)
    room_humidity_percent = models.PositiveSmallIntegerField(null=True, blank=True)

    class Meta:
        ordering: ClassVar = ["id"]

    def __str__(self) -> str:
        return f"{self.garment}, {self.opened_at:%Y-%m-%d %H:%M}"


class CheckReading(OwnReading):
    sitting = models.ForeignKey(CheckSitting, models.PROTECT, related_name="readings")

    class Meta:
        ordering: ClassVar = ["id"]
        constraints: ClassVar = [
            models.UniqueConstraint(
                fields=["sitting", "point", "side"],
                condition=models.Q(corrects__isnull=True),
                name="check_garment_read_once_a_sitting",
            ),
            models.CheckConstraint(
                condition=models.Q(corrects__isnull=True) | ~models.Q(reason=""),
                name="check_readings_correction_has_reason",
            ),
        ]
