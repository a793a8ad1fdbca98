"""Styles and the points that are measured on them."""

from __future__ import annotations

from typing import Any, ClassVar

from django.db import models

from inventory.calc import uncertainty
from inventory.fields import OptionalNanometreField
from inventory.models.points import PointWords


class Style(models.Model):
    class Family(models.TextChoices):
        LACED_UNDERBUST = "laced_underbust", "Laced, underbust"
        LACED_OVERBUST = "laced_overbust", "Laced, overbust"
        BODICE = "bodice", "Bodice"
        WAISTCOAT = "waistcoat", "Waistcoat"
        JACKET = "jacket", "Jacket"

    code = models.SlugField(max_length=24, unique=True)
    name = models.CharField(max_length=120)
    family = models.CharField(max_length=16, choices=Family.choices)
    contains_metal = models.BooleanField(default=False, help_text="Bones, busk, eyelets, hooks.")
    note = models.TextField(blank=True)
    is_active = models.BooleanField(default=True)
    points_version = models.PositiveIntegerField(
        default=1, editable=False, help_text="Counts up with each change to a point; judging caches by it."
    )

    class Meta:
        ordering: ClassVar = ["code"]

    def __str__(self) -> str:
        return f"{self.code} {self.name}"


class ClothDirection(models.TextChoices):
    UNKNOWN = "", "not stated"
    WARP = "warp", "along the warp"
    WEFT = "weft", "along the weft"


class MeasurePoint(PointWords):
    """One point of measure of one style; its position is its place in the fixed walk of the tape."""

    style = models.ForeignKey(Style, models.CASCADE, related_name="points")
    position = models.PositiveSmallIntegerField()
    is_active = models.BooleanField(default=True, help_text="Off: new revisions leave it out.")

    is_secondary = models.BooleanField(
        "secondary", default=False, help_text="May be left to a rota once a maker has earned it."
    )
    height_nm = OptionalNanometreField(
        "height above the waist line",
        help_text="Of a girth, below the waist with a minus. Two heights say how much a wrong level matters.",
    )
    height_u_nm = OptionalNanometreField(
        "level found to", help_text="Standard uncertainty of finding the level, such as 3 mm."
    )
    state_u_nm = OptionalNanometreField(
        "state of the cloth", help_text="Standard uncertainty from tension, rest and humidity."
    )
    seams_crossed = models.PositiveSmallIntegerField(
        null=True, blank=True, help_text="Of one half: a seam sewn too deep shows once per seam."
    )
    cloth_direction = models.CharField(
        max_length=4, choices=ClothDirection.choices, default=ClothDirection.UNKNOWN, blank=True
    )
    edge_bound = models.BooleanField(default=False, help_text="A bound edge: binding can pull it in.")
    known_error = models.ForeignKey(
        "inventory.PointError",
        models.PROTECT,
        null=True,
        blank=True,
        editable=False,
        related_name="+",
        help_text="The newest of the point's errors; empty: the planning values hold.",
    )

    class Meta:
        ordering: ClassVar = ["style", "position", "id"]
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["style", "code"], name="points_code_once_per_style"),
            models.CheckConstraint(
                condition=models.Q(two_people_sd_nm__gte=models.F("same_person_sd_nm")),
                name="points_two_people_sd_at_least_same_person_sd",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.code} {self.name}"

    def save(self, *args: Any, **kwargs: Any) -> None:  # Any: Django's own signature
        super().save(*args, **kwargs)
        Style.objects.filter(pk=self.style_id).update(points_version=models.F("points_version") + 1)

    def as_reading_error(self) -> uncertainty.ReadingError:
        """The error of one reading: as our own study found it, else planned. Load `known_error`."""
        if self.known_error is not None:
            return self.known_error.as_reading_error()
        return uncertainty.ReadingError.from_planning(
            same_person_sd_nm=self.same_person_sd_nm, two_people_sd_nm=self.two_people_sd_nm
        )

    @property
    def sides_read(self) -> tuple[str, ...]:
        return ("L", "R") if self.is_paired else ("S",)
