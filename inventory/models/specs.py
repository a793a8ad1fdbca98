"""Spec sheets in numbered revisions. A revision in force is frozen: it is superseded, never edited."""

from __future__ import annotations

from typing import Any, ClassVar

from django.conf import settings
from django.db import models

from inventory.calc import symmetry
from inventory.fields import NanometreField, OptionalNanometreField
from inventory.models.points import Basis, FavourableSide
from inventory.models.shop import LengthUnit
from inventory.models.styles import MeasurePoint, Style


class SpecIsFrozen(Exception):
    """A spec revision that has been in force was about to be changed."""

    def __init__(self, spec: Spec) -> None:
        super().__init__(
            f"Spec {spec} is {spec.get_state_display().lower()} and frozen. "
            "Draft a new revision and change that."
        )


class Spec(models.Model):
    class State(models.TextChoices):
        DRAFT = "draft", "Draft"
        IN_FORCE = "in_force", "In force"
        SUPERSEDED = "superseded", "Superseded"

    style = models.ForeignKey(Style, models.PROTECT, related_name="specs")
    revision = models.PositiveSmallIntegerField()
    state = models.CharField(max_length=10, choices=State.choices, default=State.DRAFT)
    unit_of_record = models.CharField(max_length=2, choices=LengthUnit.choices, default=LengthUnit.MM)
    base_size = models.CharField(max_length=12, blank=True)
    reason = models.CharField(max_length=200, blank=True, help_text="Why this revision exists.")
    author = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")
    created_at = models.DateTimeField()
    in_force_at = models.DateTimeField(null=True, blank=True)
    superseded_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering: ClassVar = ["style", "-revision"]
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["style", "revision"], name="specs_revision_once_per_style"),
            models.UniqueConstraint(
                fields=["style"], condition=models.Q(state="in_force"), name="specs_one_in_force_per_style"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.style.code} rev {self.revision}"

    @property
    def is_frozen(self) -> bool:
        return self.state != self.State.DRAFT


class FrozenWithSpec(models.Model):
    """Rows of a spec: writable while it is a draft, never after. The database refuses updates too."""

    class Meta:
        abstract = True

    def save(self, *args: Any, **kwargs: Any) -> None:  # Any: Django's own signature
        if self.whole_spec.is_frozen:
            raise SpecIsFrozen(self.whole_spec)
        super().save(*args, **kwargs)

    def delete(self, *args: Any, **kwargs: Any) -> tuple[int, dict[str, int]]:  # Any: Django's own signature
        if self.whole_spec.is_frozen:
            raise SpecIsFrozen(self.whole_spec)
        return super().delete(*args, **kwargs)

    @property
    def whole_spec(self) -> Spec:
        """The revision this row belongs to."""
        raise NotImplementedError


class SpecSize(FrozenWithSpec):
    """One size of the run, in order."""

    spec = models.ForeignKey(Spec, models.CASCADE, related_name="sizes")
    label = models.CharField(max_length=12)
    position = models.PositiveSmallIntegerField()

    class Meta:
        ordering: ClassVar = ["spec", "position"]
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["spec", "label"], name="specs_size_once"),
            models.UniqueConstraint(fields=["spec", "position"], name="specs_size_position_once"),
        ]

    def __str__(self) -> str:
        return self.label

    @property
    def whole_spec(self) -> Spec:
        return self.spec


class SpecPoint(FrozenWithSpec):
    """How one point is judged in this revision, whatever the size."""

    spec = models.ForeignKey(Spec, models.CASCADE, related_name="spec_points")
    point = models.ForeignKey(MeasurePoint, models.PROTECT, related_name="+")
    basis = models.CharField(
        max_length=4,
        choices=Basis.choices,
        default=Basis.HALF,
        help_text="What the tolerance refers to: the half as read, or the full girth.",
    )
    asymmetry_limit_nm = OptionalNanometreField("left-right limit")
    favourable_side = models.CharField(
        max_length=5, choices=FavourableSide.choices, default=FavourableSide.NONE, blank=True
    )
    favourable_limit_nm = OptionalNanometreField(
        "left-right limit on the favourable side",
        help_text="Wider limit where the half that is off is off to the buyer's advantage.",
    )
    grade_step_nm = OptionalNanometreField("grade step", help_text="Step from size to size, as read.")

    class Meta:
        ordering: ClassVar = ["spec", "point__position", "id"]
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["spec", "point"], name="specs_point_once"),
            models.CheckConstraint(
                condition=models.Q(favourable_limit_nm__isnull=True)
                | models.Q(favourable_limit_nm__gte=models.F("asymmetry_limit_nm")),
                name="specs_favourable_limit_not_tighter",
            ),
            models.CheckConstraint(
                condition=models.Q(favourable_side="", favourable_limit_nm__isnull=True)
                | (
                    ~models.Q(favourable_side="")
                    & models.Q(favourable_limit_nm__isnull=False, asymmetry_limit_nm__isnull=False)
                ),
                name="specs_favourable_side_and_limit_together",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.spec}: {self.point.code}"

    @property
    def whole_spec(self) -> Spec:
        return self.spec

    def as_pair_limit(self) -> symmetry.PairLimit | None:
        """The left-right limit as a plain value; None when the point has none."""
        if self.asymmetry_limit_nm is None:
            return None
        side = self.favourable_side
        return symmetry.PairLimit(
            limit_nm=self.asymmetry_limit_nm,
            favourable_limit_nm=self.favourable_limit_nm,
            favourable_side="plus"
            if side == FavourableSide.PLUS
            else "minus"
            if side == FavourableSide.MINUS
            else None,
        )


class SpecCell(FrozenWithSpec):
    """Nominal and tolerance of one point in one size. The nominal is as read: per half for a half girth."""

    spec_point = models.ForeignKey(SpecPoint, models.CASCADE, related_name="cells")
    size = models.ForeignKey(SpecSize, models.CASCADE, related_name="cells")
    nominal_nm = NanometreField("nominal")
    tolerance_minus_nm = NanometreField("tolerance minus")
    tolerance_plus_nm = NanometreField("tolerance plus")

    class Meta:
        ordering: ClassVar = ["spec_point", "size__position"]
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["spec_point", "size"], name="specs_cell_once"),
            models.CheckConstraint(
                condition=models.Q(tolerance_minus_nm__gte=0, tolerance_plus_nm__gte=0),
                name="specs_tolerances_not_negative",
            ),
            models.CheckConstraint(condition=models.Q(nominal_nm__gt=0), name="specs_nominal_positive"),
        ]

    def __str__(self) -> str:
        return f"{self.spec_point} size {self.size}"

    @property
    def whole_spec(self) -> Spec:
        return self.spec_point.spec
