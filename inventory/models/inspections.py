"""Sittings at the bench and the readings taken. A reading is never changed: a correction is a new reading."""

from __future__ import annotations

from typing import Any, ClassVar

from django.conf import settings
from django.db import models

from inventory.fields import NanometreField, OptionalNanometreField
from inventory.models.instruments import Instrument
from inventory.models.pieces import Piece
from inventory.models.shop import LengthUnit
from inventory.models.styles import MeasurePoint


class PieceState(models.TextChoices):
    """The state the garment is in when it is measured."""

    AS_RECEIVED = "as_received", "As received, rested, unworn"
    PRESSED = "pressed", "Pressed"
    REWORKED = "reworked", "After rework"
    RETURNED = "returned", "Back from a buyer"


class Source(models.TextChoices):
    BENCH = "bench", "Bench"
    PAPER = "paper", "Typed in from a paper worksheet"
    IMPORT = "import", "Import"
    API = "api", "Other program"


class Side(models.TextChoices):
    LEFT = "L", "Left"
    RIGHT = "R", "Right"
    SINGLE = "S", "Single"


class Inspection(models.Model):
    """All readings of a piece at one sitting."""

    piece = models.ForeignKey(Piece, models.PROTECT, related_name="inspections")
    piece_state = models.CharField(max_length=12, choices=PieceState.choices, default=PieceState.AS_RECEIVED)
    source = models.CharField(max_length=6, choices=Source.choices, default=Source.BENCH)
    unit = models.CharField(max_length=2, choices=LengthUnit.choices)
    instrument = models.ForeignKey(
        Instrument, models.PROTECT, null=True, blank=True, related_name="+", db_index=False
    )
    opened_by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+", db_index=False)
    opened_at = models.DateTimeField()
    finished_at = models.DateTimeField(null=True, blank=True)
    blind = models.BooleanField(default=True, help_text="The nominal was hidden until each reading was in.")
    room_temperature_c = models.DecimalField(max_digits=4, decimal_places=1, null=True, blank=True)
    room_humidity_percent = models.PositiveSmallIntegerField(null=True, blank=True)
    import_run = models.ForeignKey(
        "inventory.ImportRun",
        models.PROTECT,
        null=True,
        blank=True,
        related_name="inspections",
        db_index=False,
    )

    class Meta:
        ordering: ClassVar = ["id"]

    def __str__(self) -> str:
        return f"{self.piece.label}, {self.opened_at:%Y-%m-%d %H:%M}"


class ReadingQuerySet(models.QuerySet["Reading"]):
    def in_effect(self) -> ReadingQuerySet:
        """Readings that no later reading corrects."""
        return self.filter(corrections=None)


class Reading(models.Model):
    """One figure, by one person, once. As typed and as exact length."""

    inspection = models.ForeignKey(Inspection, models.PROTECT, related_name="readings", db_index=False)
    point = models.ForeignKey(MeasurePoint, models.PROTECT, related_name="+", db_index=False)
    side = models.CharField(max_length=1, choices=Side.choices)
    repeat = models.PositiveSmallIntegerField(default=1)
    typed = models.CharField(max_length=40)
    unit = models.CharField(max_length=2, choices=LengthUnit.choices, help_text="The unit it was read in.")
    length_nm = NanometreField()
    instrument = models.ForeignKey(
        Instrument, models.PROTECT, null=True, blank=True, related_name="+", db_index=False
    )
    taken_by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+", db_index=False)
    taken_at = models.DateTimeField(help_text="When it was read, by the reader's clock.")
    recorded_at = models.DateTimeField(help_text="When it was stored.")
    piece_state = models.CharField(max_length=12, choices=PieceState.choices, default=PieceState.AS_RECEIVED)
    client_key = models.UUIDField(
        null=True, blank=True, help_text="The sender's own key: stored exactly once."
    )
    corrects = models.ForeignKey(
        "self", models.PROTECT, null=True, blank=True, related_name="corrections", db_index=False
    )
    reason = models.CharField(max_length=200, blank=True, help_text="Why a reading corrects another.")
    note = models.CharField(max_length=200, blank=True)
    working: models.JSONField[dict[str, Any] | None, dict[str, Any] | None] = models.JSONField(  # Any: JSON
        null=True, blank=True, help_text="How the level was found or the slant taken out, see calc.level."
    )

    objects = ReadingQuerySet.as_manager()

    class Meta:
        ordering: ClassVar = ["id"]
        indexes: ClassVar = [
            # readings of an inspection, by point: queries.bench, services.judging
            models.Index(fields=["inspection", "point"], name="readings_of_inspection"),
        ]
        constraints: ClassVar = [
            # Partial, so that the many imported readings without a key cost nothing in the index.
            models.UniqueConstraint(
                fields=["client_key"],
                condition=models.Q(client_key__isnull=False),
                name="readings_client_key_once",
            ),
            models.UniqueConstraint(
                fields=["corrects"],
                condition=models.Q(corrects__isnull=False),
                name="readings_corrected_once",
            ),
            models.CheckConstraint(
                condition=models.Q(corrects__isnull=True) | ~models.Q(reason=""),
                name="readings_correction_has_reason",
            ),
            models.CheckConstraint(condition=models.Q(length_nm__gte=0), name="readings_length_not_negative"),
        ]

    def __str__(self) -> str:
        return f"{self.point.code} {self.side} {self.typed} {self.unit}"


class UnreadSide(models.Model):
    """A side that cannot be read, with the reason; void as soon as a reading of that side is in."""

    inspection = models.ForeignKey(
        Inspection, models.PROTECT, related_name="unread_sides", db_index=False
    )  # the constraint's index begins with it
    point = models.ForeignKey(MeasurePoint, models.PROTECT, related_name="+", db_index=False)
    side = models.CharField(max_length=1, choices=Side.choices)
    reason = models.CharField(max_length=200)
    noted_by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+", db_index=False)
    noted_at = models.DateTimeField()

    class Meta:
        ordering: ClassVar = ["id"]
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["inspection", "point", "side"], name="unread_side_noted_once"),
            models.CheckConstraint(condition=~models.Q(reason=""), name="unread_side_has_reason"),
        ]

    def __str__(self) -> str:
        return f"{self.point.code} {self.side} not read"


class SlipQuestion(models.Model):
    """A likely slip the guard asked about, and what the person answered. It never alters the figure."""

    class Answer(models.TextChoices):
        OPEN = "", "not answered yet"
        KEPT = "kept", "kept as read"
        READ_AGAIN = "read_again", "read again"

    reading = models.ForeignKey(Reading, models.PROTECT, related_name="slip_questions")
    kind = models.CharField(max_length=24)
    question = models.CharField(max_length=300)
    suggestion_nm = OptionalNanometreField()
    answer = models.CharField(max_length=10, choices=Answer.choices, default=Answer.OPEN, blank=True)
    answered_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, models.PROTECT, null=True, blank=True, related_name="+"
    )
    answered_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering: ClassVar = ["id"]

    def __str__(self) -> str:
        return self.question
