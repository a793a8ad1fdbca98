"""Verdicts, with everything they were judged on.

`JudgementBasis` is the common part: limits per point, reading errors, both rules with their versions, for one
size of one spec revision. It is content-addressed and never changes, so a thousand pieces judged alike share
one row and a verdict can be re-derived years later.
"""

from __future__ import annotations

from typing import Any, ClassVar

from django.conf import settings
from django.db import models

from inventory.calc.conformity import Verdict
from inventory.calc.judging import Finding
from inventory.calc.plan import PointPlan
from inventory.fields import OptionalNanometreField
from inventory.models import findings
from inventory.models.inspections import Inspection
from inventory.models.pieces import Piece
from inventory.models.specs import Spec


class VerdictCode(models.TextChoices):
    IN = Verdict.IN.value, "in tolerance"
    CLOSE = Verdict.CLOSE.value, "too close to call"
    OUT = Verdict.OUT.value, "out of tolerance"


class JudgementBasis(models.Model):
    digest = models.CharField(
        max_length=64, unique=True, help_text="SHA-256 of the canonical JSON of the document."
    )
    spec = models.ForeignKey(Spec, models.PROTECT, related_name="+")
    size_label = models.CharField(max_length=12)
    document: models.JSONField[dict[str, Any], dict[str, Any]] = models.JSONField()  # Any: JSON
    created_at = models.DateTimeField()

    class Meta:
        verbose_name_plural = "judgement bases"

    def __str__(self) -> str:
        return f"{self.spec} size {self.size_label} ({self.digest[:8]})"

    def as_plans(self) -> dict[str, PointPlan]:
        """The plans, by point code, exactly as they stood when the verdict was given."""
        return findings.read_plans(self.document)


class PieceVerdict(models.Model):
    """What one sitting says of one piece. A later judgement adds a row; the newest is the current one."""

    piece = models.ForeignKey(Piece, models.PROTECT, related_name="verdicts", db_index=False)
    inspection = models.ForeignKey(Inspection, models.PROTECT, related_name="verdicts", db_index=False)
    basis = models.ForeignKey(JudgementBasis, models.PROTECT, related_name="+", db_index=False)
    is_current = models.BooleanField(default=True)
    shelf = models.CharField(max_length=5, choices=VerdictCode.choices)
    claim = models.CharField(max_length=5, choices=VerdictCode.choices)
    worst_point = models.CharField(max_length=12, blank=True, help_text="Code of the point that decided.")
    worst_aspect = models.CharField(max_length=1, blank=True)
    size_suspected = models.BooleanField(default=False, help_text="Out on the label, but another size fits.")
    fits_size = models.CharField(max_length=12, blank=True, help_text="Best fitting size; empty: none.")
    size_margin_nm = OptionalNanometreField(help_text="Distance to the nearest limit at the tightest point.")
    findings: models.JSONField[dict[str, Any], dict[str, Any]] = models.JSONField(  # Any: JSON
        help_text="Point code to one row per aspect, see inventory.models.findings."
    )
    corrections: models.JSONField[dict[str, Any] | None, dict[str, Any] | None] = (
        models.JSONField(  # Any: JSON
            null=True,
            blank=True,
            help_text="Tape corrections taken into it, by instrument, with their check.",
        )
    )
    judged_by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+", db_index=False)
    judged_at = models.DateTimeField()

    class Meta:
        ordering: ClassVar = ["id"]
        indexes: ClassVar = [
            # verdicts of one sitting: queries.pieces
            models.Index(fields=["inspection"], name="verdicts_of_inspection"),
        ]
        constraints: ClassVar = [
            models.UniqueConstraint(
                fields=["piece"], condition=models.Q(is_current=True), name="verdicts_one_current_per_piece"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.piece.label}: {self.get_shelf_display()}"

    def as_findings(self) -> dict[str, tuple[Finding, ...]]:
        """What was found per point, with the limits of the basis it was judged on (load `basis` with it)."""
        return findings.read_rows(self.findings, plans=self.basis.as_plans())
