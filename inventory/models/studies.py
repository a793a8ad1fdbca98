"""Person-to-person studies: who reads what in which order, the readings, and what they say of our hands."""

from __future__ import annotations

from typing import Any, ClassVar

from django.conf import settings
from django.db import models

from inventory.calc import uncertainty
from inventory.fields import NanometreField
from inventory.models.own_readings import OwnReading
from inventory.models.pieces import Piece
from inventory.models.shop import LengthUnit
from inventory.models.styles import MeasurePoint, Style


class Study(models.Model):
    """A plan of pieces x people x rounds, shuffled from a recorded seed."""

    class State(models.TextChoices):
        RUNNING = "running", "Running"
        FINISHED = "finished", "Finished"
        ABANDONED = "abandoned", "Given up"

    number = models.PositiveIntegerField(unique=True, editable=False)
    style = models.ForeignKey(Style, models.PROTECT, related_name="studies")
    points: models.ManyToManyField[MeasurePoint, MeasurePoint] = models.ManyToManyField(
        MeasurePoint, related_name="+"
    )
    rounds = models.PositiveSmallIntegerField(default=2)
    seed = models.PositiveBigIntegerField(help_text="The order follows from it and can be made again.")
    unit = models.CharField(max_length=2, choices=LengthUnit.choices)
    state = models.CharField(max_length=10, choices=State.choices, default=State.RUNNING)
    note = models.CharField(max_length=300, blank=True)
    planned_by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")
    planned_at = models.DateTimeField()
    ended_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering: ClassVar = ["-number"]
        verbose_name_plural = "studies"

    def __str__(self) -> str:
        return self.label

    @property
    def label(self) -> str:
        return f"S{self.number:03d}"


class StudyPiece(models.Model):
    study = models.ForeignKey(Study, models.CASCADE, related_name="study_pieces")
    piece = models.ForeignKey(Piece, models.PROTECT, related_name="+")
    position = models.PositiveSmallIntegerField()

    class Meta:
        ordering: ClassVar = ["position"]
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["study", "piece"], name="study_piece_once"),
            models.UniqueConstraint(fields=["study", "position"], name="study_piece_position_once"),
        ]

    def __str__(self) -> str:
        return f"{self.study}: {self.piece.label}"


class StudyPerson(models.Model):
    study = models.ForeignKey(Study, models.CASCADE, related_name="study_people")
    person = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")
    position = models.PositiveSmallIntegerField()

    class Meta:
        ordering: ClassVar = ["position"]
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["study", "person"], name="study_person_once"),
            models.UniqueConstraint(fields=["study", "position"], name="study_person_position_once"),
        ]

    def __str__(self) -> str:
        return f"{self.study}: {self.person}"


class StudyTurn(models.Model):
    """One piece laid out once for one person in one round; `order` is the person's own walk through all."""

    study = models.ForeignKey(Study, models.CASCADE, related_name="turns")
    study_person = models.ForeignKey(StudyPerson, models.CASCADE, related_name="turns")
    study_piece = models.ForeignKey(StudyPiece, models.CASCADE, related_name="turns")
    round = models.PositiveSmallIntegerField()
    order = models.PositiveSmallIntegerField()

    class Meta:
        ordering: ClassVar = ["study_person", "order"]
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["study_person", "study_piece", "round"], name="study_turn_once"),
            models.UniqueConstraint(fields=["study_person", "order"], name="study_turn_order_once"),
        ]

    def __str__(self) -> str:
        return f"{self.study}: round {self.round}, {self.order}"


class StudyReading(OwnReading):
    turn = models.ForeignKey(StudyTurn, models.PROTECT, related_name="readings")

    class Meta:
        ordering: ClassVar = ["id"]
        constraints: ClassVar = [
            models.UniqueConstraint(
                fields=["turn", "point", "side"],
                condition=models.Q(corrects__isnull=True),
                name="study_read_once_a_turn",
            ),
            models.CheckConstraint(
                condition=models.Q(corrects__isnull=True) | ~models.Q(reason=""),
                name="study_readings_correction_has_reason",
            ),
        ]


class PointError(models.Model):
    """What is known of the reading error of a point, from a moment on; the newest holds, none is changed."""

    class Origin(models.TextChoices):
        STUDY = "study", "our own study"
        STATED = "stated", "stated by the owner"

    point = models.ForeignKey(MeasurePoint, models.PROTECT, related_name="errors")
    origin = models.CharField(max_length=8, choices=Origin.choices)
    study = models.ForeignKey(Study, models.PROTECT, null=True, blank=True, related_name="errors")
    repeat_sd_nm = NanometreField("repeat SD")
    person_sd_nm = NanometreField("person SD")
    fixed_sd_nm = NanometreField(
        "fixed SD", default=0, help_text="Anything else in every reading alike, as the owner states it."
    )
    placing_sd_nm = NanometreField(
        "placing SD", default=0, help_text="Of the person SD, what is new with each side of each piece."
    )
    repeat_dof = models.PositiveIntegerField(null=True, blank=True)
    person_dof = models.PositiveIntegerField(null=True, blank=True)
    document: models.JSONField[dict[str, Any], dict[str, Any]] = models.JSONField(  # Any: JSON
        help_text="The analysis and the budget it rests on."
    )
    reason = models.CharField(max_length=200, blank=True)
    set_by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")
    effective_at = models.DateTimeField()

    class Meta:
        ordering: ClassVar = ["id"]
        constraints: ClassVar = [
            models.CheckConstraint(
                condition=models.Q(repeat_sd_nm__gte=0, person_sd_nm__gte=0, fixed_sd_nm__gte=0),
                name="point_errors_not_negative",
            ),
            models.CheckConstraint(
                condition=models.Q(origin="study", study__isnull=False)
                | (models.Q(origin="stated") & ~models.Q(reason="")),
                name="point_errors_from_a_study_or_with_a_reason",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.point.code} from {self.effective_at:%Y-%m-%d}"

    def as_reading_error(self) -> uncertainty.ReadingError:
        """The plain value the calculations take."""
        return uncertainty.ReadingError(
            repeat_sd_nm=self.repeat_sd_nm,
            person_sd_nm=self.person_sd_nm,
            fixed_sd_nm=self.fixed_sd_nm,
            repeat_dof=self.repeat_dof,
            person_dof=self.person_dof,
            placing_sd_nm=self.placing_sd_nm,
        )
