"""What was decided for a piece. Each decision adds a row."""

from __future__ import annotations

from typing import ClassVar

from django.conf import settings
from django.db import models

from inventory.models.pieces import Piece, Standing


class Disposition(models.Model):
    piece = models.ForeignKey(Piece, models.PROTECT, related_name="dispositions")
    decision = models.CharField(max_length=10, choices=Standing.choices)
    reason = models.CharField(max_length=300, blank=True)
    agreed_with = models.CharField(max_length=120, blank=True, help_text="Who agreed a concession.")
    ends_on = models.DateField(
        null=True, blank=True, help_text="A concession ends; it never becomes the new spec."
    )
    new_size_label = models.CharField(max_length=12, blank=True)
    decided_by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")
    decided_at = models.DateTimeField()

    class Meta:
        ordering: ClassVar = ["id"]
        constraints: ClassVar = [
            models.CheckConstraint(
                condition=~models.Q(decision="concession") | models.Q(ends_on__isnull=False),
                name="dispositions_concession_has_an_end",
            ),
            models.CheckConstraint(
                condition=~models.Q(decision="relabel") | ~models.Q(new_size_label=""),
                name="dispositions_relabel_names_the_size",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.piece.label}: {self.get_decision_display()}"
