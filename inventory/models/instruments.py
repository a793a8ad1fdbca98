"""Tapes and rules, each with a number, so that a reading says which one took it."""

from __future__ import annotations

from typing import Any, ClassVar

from django.db import models

from inventory.fields import NanometreField, OptionalNanometreField
from inventory.models.shop import Shop


class Instrument(models.Model):
    class Kind(models.TextChoices):
        TAPE = "tape", "Tape"
        RULE = "rule", "Steel rule"
        TYPING_TAPE = "typing_tape", "Tape that types"
        GAUGE = "gauge", "Thickness gauge"

    class AccuracyClass(models.TextChoices):
        UNCLASSED = "", "unclassed"
        I = "I", "class I"  # noqa: E741  # the directive's own name
        II = "II", "class II"
        III = "III", "class III"

    number = models.CharField(max_length=20, unique=True)
    kind = models.CharField(max_length=12, choices=Kind.choices, default=Kind.TAPE)
    description = models.CharField(max_length=120, blank=True)
    division_nm = NanometreField("smallest division", default=1_000_000)
    accuracy_class = models.CharField(
        "accuracy class",
        max_length=3,
        choices=AccuracyClass.choices,
        default=AccuracyClass.UNCLASSED,
        blank=True,
        help_text="Roman number in an oval on the tape. Sewing tapes commonly carry none.",
    )
    zero_at_end = models.BooleanField(
        "zero at its end or hook",
        default=False,
        help_text="Its own end is the zero, which may be off a little more.",
    )
    stated_u_nm = OptionalNanometreField(
        "standard uncertainty",
        help_text="Of an unclassed tape, as the shop states it, until a check against the steel rule.",
    )
    check_every_days = models.PositiveSmallIntegerField(
        "check every (days)", null=True, blank=True, help_text="Empty: at the start of each sitting, by hand."
    )
    in_use_since = models.DateField(null=True, blank=True)
    retired_on = models.DateField(null=True, blank=True)

    class Meta:
        ordering: ClassVar = ["number"]

    def __str__(self) -> str:
        return f"{self.get_kind_display()} {self.number}"

    def save(self, *args: Any, **kwargs: Any) -> None:  # Any: Django's own signature
        super().save(*args, **kwargs)
        count_up_instruments()


def count_up_instruments() -> None:
    """Let every process forget what it keeps in memory about the tapes."""
    Shop.objects.update(instruments_version=models.F("instruments_version") + 1)
