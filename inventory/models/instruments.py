"""Tapes and rules, each with a number, so that a reading says which one took it."""

from __future__ import annotations

from typing import ClassVar

from django.db import models

from inventory.fields import NanometreField


class Instrument(models.Model):
    class Kind(models.TextChoices):
        TAPE = "tape", "Tape"
        RULE = "rule", "Steel rule"
        TYPING_TAPE = "typing_tape", "Tape that types"
        GAUGE = "gauge", "Thickness gauge"

    number = models.CharField(max_length=20, unique=True)
    kind = models.CharField(max_length=12, choices=Kind.choices, default=Kind.TAPE)
    description = models.CharField(max_length=120, blank=True)
    division_nm = NanometreField("smallest division", default=1_000_000)
    in_use_since = models.DateField(null=True, blank=True)
    retired_on = models.DateField(null=True, blank=True)

    class Meta:
        ordering: ClassVar = ["number"]

    def __str__(self) -> str:
        return f"{self.get_kind_display()} {self.number}"
