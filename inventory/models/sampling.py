"""How many pieces of a batch are measured, which ones, and what was decided of the whole batch.

`lot` is said only where the sampling standards say it; here it is the batch.
"""

from __future__ import annotations

from typing import Any, ClassVar

from django.conf import settings
from django.db import models

from inventory.models.deliveries import Batch
from inventory.models.makers import Maker
from inventory.models.pieces import Piece
from inventory.models.styles import MeasurePoint, Style


class SamplingScheme(models.Model):
    """What was agreed on how to sample; never edited, the newest for maker and style holds.

    Without maker and style it is the shop's own.
    """

    class Kind(models.TextChoices):
        EVERY_PIECE = "every_piece", "Every piece"
        ATTRIBUTES = "attributes", "By attributes: count bad pieces (ISO 2859-1, MIL-STD-105E)"
        VARIABLES = "variables", "By variables: mean and spread of one point (ISO 3951, MIL-STD-414)"
        BY_RISK = "by_risk", "By risk: the smallest sample for two stated risks"

    class Level(models.TextChoices):
        I = "I", "I"  # noqa: E741  # the standard's own name
        II = "II", "II"
        III = "III", "III"
        S1 = "S-1", "S-1"
        S2 = "S-2", "S-2"
        S3 = "S-3", "S-3"
        S4 = "S-4", "S-4"

    class Stages(models.TextChoices):
        SINGLE = "single", "single"
        DOUBLE = "double", "double"

    class Rules(models.TextChoices):
        OF_1989 = "1989", "of 1989 (MIL-STD-105E, ISO 2859-1:1989)"
        OF_1999 = "1999", "of 1999 (ISO 2859-1:1999, switching score)"

    class Method(models.TextChoices):
        S = "s", "s method: spread from the sample"
        SIGMA = "sigma", "sigma method: spread known"

    maker = models.ForeignKey(Maker, models.PROTECT, null=True, blank=True, related_name="sampling_schemes")
    style = models.ForeignKey(Style, models.PROTECT, null=True, blank=True, related_name="sampling_schemes")
    kind = models.CharField(max_length=12, choices=Kind.choices, default=Kind.EVERY_PIECE)
    level = models.CharField(max_length=3, choices=Level.choices, default=Level.II)
    stages = models.CharField(max_length=6, choices=Stages.choices, default=Stages.SINGLE)
    switching = models.CharField(
        "switching rules", max_length=4, choices=Rules.choices, default=Rules.OF_1989
    )
    aql_major = models.DecimalField("AQL, major (%)", max_digits=7, decimal_places=3, null=True, blank=True)
    aql_minor = models.DecimalField("AQL, minor (%)", max_digits=7, decimal_places=3, null=True, blank=True)
    producer_quality = models.DecimalField(
        "share bad a good batch may have (p1, %)", max_digits=6, decimal_places=3, null=True, blank=True
    )
    producer_risk = models.DecimalField(
        "risk of refusing it (alpha, %)", max_digits=6, decimal_places=3, null=True, blank=True
    )
    consumer_quality = models.DecimalField(
        "share bad that must not pass (p2, %)", max_digits=6, decimal_places=3, null=True, blank=True
    )
    consumer_risk = models.DecimalField(
        "risk of passing it (beta, %)", max_digits=6, decimal_places=3, null=True, blank=True
    )
    point = models.ForeignKey(
        MeasurePoint,
        models.PROTECT,
        null=True,
        blank=True,
        related_name="+",
        help_text="By variables: the point.",
    )
    method = models.CharField(max_length=5, choices=Method.choices, default=Method.S)
    rota_batches = models.PositiveSmallIntegerField(
        null=True,
        blank=True,
        help_text="Secondary points: each gets its turn within so many batches; empty: always all points.",
    )
    reason = models.CharField(max_length=200, help_text="Why; what the maker has earned it by.")
    set_by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")
    set_at = models.DateTimeField()

    class Meta:
        ordering: ClassVar = ["id"]
        constraints: ClassVar = [
            models.CheckConstraint(
                condition=models.Q(style__isnull=True) | models.Q(maker__isnull=False),
                name="sampling_of_a_style_names_its_maker",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.get_kind_display()} from {self.set_at:%Y-%m-%d}"


class BatchSampling(models.Model):
    """The plan of one batch as it was resolved, and the seed of its draw; made once, never changed."""

    class Severity(models.TextChoices):
        NORMAL = "normal", "normal"
        TIGHTENED = "tightened", "tightened"
        REDUCED = "reduced", "reduced"

    batch = models.OneToOneField(Batch, models.PROTECT, related_name="sampling")
    scheme = models.ForeignKey(SamplingScheme, models.PROTECT, related_name="+")
    severity = models.CharField(max_length=9, choices=Severity.choices, blank=True)
    batch_size = models.PositiveIntegerField(help_text="Pieces numbered when the sample was drawn.")
    document: models.JSONField[dict[str, Any], dict[str, Any]] = models.JSONField(  # Any: JSON
        help_text="The plan in full: code letter, sizes, acceptance numbers, limits, and why this severity."
    )
    seed = models.CharField(max_length=40, help_text="The draw follows from it; the maker can repeat it.")
    drawn_by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")
    drawn_at = models.DateTimeField()

    class Meta:
        ordering: ClassVar = ["id"]

    def __str__(self) -> str:
        return f"Sample of {self.batch.label}"


class DrawnPiece(models.Model):
    """A piece of the sample, in the order of the draw."""

    sampling = models.ForeignKey(BatchSampling, models.PROTECT, related_name="drawn")
    piece = models.OneToOneField(Piece, models.PROTECT, related_name="drawn")
    position = models.PositiveIntegerField()
    stage = models.PositiveSmallIntegerField(default=1, help_text="1, or 2 for the second of a double plan.")
    stratum = models.CharField(max_length=80, blank=True, help_text="Carton, size and colour it stands for.")

    class Meta:
        ordering: ClassVar = ["sampling", "position"]
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["sampling", "position"], name="drawn_position_once"),
        ]

    def __str__(self) -> str:
        return f"{self.position}: {self.piece.label}"


class BatchDecision(models.Model):
    """Whether the sample accepts the batch; the switching of later batches follows from these rows."""

    class Outcome(models.TextChoices):
        ACCEPTED = "accepted", "accepted"
        REFUSED = "refused", "refused"

    sampling = models.OneToOneField(BatchSampling, models.PROTECT, related_name="decision")
    outcome = models.CharField(max_length=8, choices=Outcome.choices)
    original = models.BooleanField(
        default=True, help_text="First inspection, not of a batch sent again: only these count for switching."
    )
    document: models.JSONField[dict[str, Any], dict[str, Any]] = models.JSONField(  # Any: JSON
        help_text="Counts per class, what decided, and what the sample says of the rest."
    )
    decided_by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")
    decided_at = models.DateTimeField()

    class Meta:
        ordering: ClassVar = ["id"]

    def __str__(self) -> str:
        return f"{self.sampling.batch.label} {self.get_outcome_display()}"


class SwitchingNote(models.Model):
    """What a person must say before the rules may switch: production steady or not, reduced wanted or not."""

    class Kind(models.TextChoices):
        STEADY = "steady", "production is steady"
        IRREGULAR = "irregular", "production is irregular or was interrupted"
        REDUCED_WANTED = "reduced_wanted", "reduced inspection is wanted"
        REDUCED_UNWANTED = "reduced_unwanted", "reduced inspection is not wanted"
        RESUMED = "resumed", "the maker has put things right: sampling begins again, tightened"

    maker = models.ForeignKey(Maker, models.PROTECT, related_name="switching_notes")
    style = models.ForeignKey(Style, models.PROTECT, related_name="switching_notes")
    kind = models.CharField(max_length=16, choices=Kind.choices)
    note = models.CharField(max_length=200)
    noted_by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")
    noted_at = models.DateTimeField()

    class Meta:
        ordering: ClassVar = ["id"]

    def __str__(self) -> str:
        return self.get_kind_display()
