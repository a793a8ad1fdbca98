"""What arrived, from whom and when; the batches in it."""

from __future__ import annotations

import datetime as dt
from typing import ClassVar

from django.conf import settings
from django.db import models

from inventory.models.makers import Maker
from inventory.models.specs import Spec
from inventory.models.styles import Style


class Delivery(models.Model):
    """One parcel or consignment. The clock for notice to the maker starts at `arrived_at`."""

    number = models.PositiveIntegerField(unique=True, editable=False)
    maker = models.ForeignKey(Maker, models.PROTECT, related_name="deliveries")
    arrived_at = models.DateTimeField()
    order_reference = models.CharField(max_length=60)
    invoice_reference = models.CharField(max_length=60, blank=True)
    notice_window_days = models.PositiveSmallIntegerField(
        null=True, blank=True, help_text="As recorded for the maker when it arrived; days from arrival."
    )
    cartons = models.PositiveSmallIntegerField(null=True, blank=True)
    carton_note = models.TextField(blank=True, help_text="Damage, wet marks, broken tape, before opening.")
    received_by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")
    created_at = models.DateTimeField()

    class Meta:
        ordering: ClassVar = ["-arrived_at", "-id"]
        verbose_name_plural = "deliveries"

    def __str__(self) -> str:
        return f"{self.label} {self.maker}"

    @property
    def label(self) -> str:
        return f"D{self.number:04d}"

    @property
    def notice_window_ends(self) -> dt.date | None:
        """The last day of the recorded window, by the local calendar; None when none is recorded."""
        if self.notice_window_days is None:
            return None
        from django.utils import timezone  # noqa: PLC0415  # local date of an aware moment

        return timezone.localdate(self.arrived_at) + dt.timedelta(days=self.notice_window_days)


class Batch(models.Model):
    """The pieces of one style in one delivery, judged by the spec revision its order named."""

    number = models.PositiveIntegerField(unique=True, editable=False)
    delivery = models.ForeignKey(Delivery, models.PROTECT, related_name="batches")
    style = models.ForeignKey(Style, models.PROTECT, related_name="batches")
    spec = models.ForeignKey(Spec, models.PROTECT, related_name="batches")
    cutting_reference = models.CharField(
        max_length=60, blank=True, help_text="Cutting or bundle number, if given."
    )
    pieces_announced = models.PositiveIntegerField(null=True, blank=True, help_text="On the packing list.")
    note = models.TextField(blank=True)
    created_at = models.DateTimeField()

    class Meta:
        ordering: ClassVar = ["-number"]
        verbose_name_plural = "batches"

    def __str__(self) -> str:
        return f"{self.label} {self.style.code}"

    @property
    def label(self) -> str:
        return f"B{self.number:04d}"
