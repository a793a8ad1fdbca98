"""Points of measure: the nine words that define one, shared by the catalogue and the styles."""

from __future__ import annotations

from typing import ClassVar

from django.db import models

from inventory.fields import NanometreField, OptionalNanometreField


class Kind(models.TextChoices):
    HALF = "half", "Half girth"
    FULL = "full", "Full girth"
    LENGTH = "length", "Length"
    PLACEMENT = "placement", "Placement"


class Sides(models.TextChoices):
    PAIR = "pair", "Left and right, as worn"
    SINGLE = "single", "Single"


class Basis(models.TextChoices):
    HALF = "half", "as read (per half)"
    FULL = "full", "full girth"


class FavourableSide(models.TextChoices):
    NONE = "", "neither side"
    PLUS = "plus", "larger is to the buyer's advantage"
    MINUS = "minus", "smaller is to the buyer's advantage"


class PointWords(models.Model):
    """The nine words (name, from, to, path, level, state, face, kind, side) and the default reading error."""

    code = models.CharField(max_length=12)
    name = models.CharField(max_length=80)
    measured_from = models.CharField("from", max_length=120)
    measured_to = models.CharField("to", max_length=120)
    path = models.CharField(max_length=120, help_text="straight, along the edge, or along the seam")
    level = models.CharField(max_length=200, help_text="how the height of the line is found")
    state = models.CharField(max_length=120, help_text="relaxed, taut or extended; laces, fastening")
    face = models.CharField(max_length=60, help_text="outside or inside")
    kind = models.CharField(max_length=10, choices=Kind.choices)
    sides = models.CharField("side", max_length=6, choices=Sides.choices)
    pitfalls = models.TextField(blank=True)
    informational = models.BooleanField(default=False, help_text="Read and kept, but no verdict hangs on it.")
    same_person_sd_nm = NanometreField(
        "same person SD", help_text="Spread of repeats by one person (standard deviation)."
    )
    two_people_sd_nm = NanometreField(
        "two people SD", help_text="Spread of one reading each by different people."
    )

    class Meta:
        abstract = True

    @property
    def is_paired(self) -> bool:
        return self.sides == Sides.PAIR


class CataloguePoint(PointWords):
    """An editable default: the shop starts a style from these."""

    class Group(models.TextChoices):
        LACED = "laced", "Laced garments"
        GENERAL = "general", "General garments"

    group = models.CharField(max_length=8, choices=Group.choices)
    tolerance_minus_nm = NanometreField("tolerance minus")
    tolerance_plus_nm = NanometreField("tolerance plus")
    basis = models.CharField(max_length=4, choices=Basis.choices, default=Basis.HALF)
    asymmetry_limit_nm = OptionalNanometreField("left-right limit")
    source = models.CharField(max_length=120, default="common practice, no source")
    position = models.PositiveSmallIntegerField(default=0)

    class Meta:
        ordering: ClassVar = ["group", "position"]
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["group", "code"], name="catalogue_code_once_per_group"),
            models.CheckConstraint(
                condition=models.Q(two_people_sd_nm__gte=models.F("same_person_sd_nm")),
                name="catalogue_two_people_sd_at_least_same_person_sd",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.code} {self.name}"
