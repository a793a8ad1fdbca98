"""Tapes laid beside the steel rule: what each check read, and what it said of the tape."""

from __future__ import annotations

from typing import Any, ClassVar

from django.conf import settings
from django.db import models

from inventory.fields import NanometreField, OptionalNanometreField
from inventory.models.instruments import Instrument, count_up_instruments
from inventory.models.shop import LengthUnit


class TapeCheck(models.Model):
    """One check of an instrument at two lengths or more; never changed, a new check follows an old one."""

    class Outcome(models.TextChoices):
        GOOD = "good", "good"
        CANNOT_TELL = "cannot_tell", "cannot tell"
        NOT_GOOD = "not_good", "not good"

    instrument = models.ForeignKey(Instrument, models.PROTECT, related_name="checks")
    against = models.ForeignKey(
        Instrument,
        models.PROTECT,
        null=True,
        blank=True,
        related_name="+",
        help_text="The steel rule it was laid beside.",
    )
    outcome = models.CharField(max_length=12, choices=Outcome.choices)
    start_error_nm = NanometreField(
        help_text="Reads too long (plus) or too short (minus) by this at its start."
    )
    stretch_ppm = models.FloatField(
        help_text="Reads too long (plus) by this many millionths of the length, or too short (minus)."
    )
    correction_u_nm = OptionalNanometreField(help_text="Standard uncertainty of the correction it gives.")
    document: models.JSONField[dict[str, Any], dict[str, Any]] = models.JSONField(  # Any: JSON
        help_text="Everything it was judged on, see inventory.calc.tape_class."
    )
    note = models.CharField(max_length=200, blank=True)
    checked_by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")
    checked_at = models.DateTimeField()

    class Meta:
        ordering: ClassVar = ["id"]
        indexes: ClassVar = [
            # the newest check before a moment: queries.tape_corrections
            models.Index(fields=["instrument", "checked_at"], name="checks_of_instrument"),
        ]

    def __str__(self) -> str:
        return f"{self.instrument.number}, {self.checked_at:%Y-%m-%d %H:%M}: {self.get_outcome_display()}"

    def save(self, *args: Any, **kwargs: Any) -> None:  # Any: Django's own signature
        super().save(*args, **kwargs)
        count_up_instruments()


class TapeCheckReading(models.Model):
    """What the tape read where the rule said `rule_length_nm`."""

    check_made = models.ForeignKey(TapeCheck, models.PROTECT, related_name="readings")
    rule_length_nm = NanometreField("length on the rule")
    repeat = models.PositiveSmallIntegerField(default=1)
    typed = models.CharField(max_length=40)
    unit = models.CharField(max_length=2, choices=LengthUnit.choices)
    length_nm = NanometreField("read on the tape")

    class Meta:
        ordering: ClassVar = ["id"]
        constraints: ClassVar = [
            models.UniqueConstraint(
                fields=["check_made", "rule_length_nm", "repeat"], name="check_readings_once"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.typed} {self.unit}"
