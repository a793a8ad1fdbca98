"""The shop itself: its name and its choices. One row."""

from __future__ import annotations

from decimal import Decimal
from typing import TYPE_CHECKING, ClassVar

from django.core.exceptions import ValidationError
from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models

from inventory.calc import length, working_days
from inventory.models.kept_questions import KeptQuestion
from inventory.models.rules import DecisionRule

if TYPE_CHECKING:
    import datetime as dt


class LengthUnit(models.TextChoices):
    MM = "mm", "Millimetres"
    CM = "cm", "Centimetres"
    INCH = "in", "Inches"


class ShopManager(models.Manager["Shop"]):
    def current(self) -> Shop:
        """The one shop of this installation, with its rules; made by the first migration."""
        found = _the_one_shop()
        if not found:
            raise Shop.DoesNotExist("The shop's row is missing. Run the migrations, which lay it.")
        return found[0]


class Shop(models.Model):
    ONLY: ClassVar[int] = 1

    class Paper(models.TextChoices):
        A4 = "A4", "A4"
        LETTER = "Letter", "US Letter"

    class Fractions(models.IntegerChoices):
        EIGHTHS = 8, "Fractions to 1/8 in"
        SIXTEENTHS = 16, "Fractions to 1/16 in"

    name = models.CharField(max_length=80, default="Our shop")
    display_unit = models.CharField(max_length=2, choices=LengthUnit.choices, default=LengthUnit.MM)
    fraction_denominator = models.PositiveSmallIntegerField(
        choices=Fractions.choices, null=True, blank=True, help_text="Only for inches; empty shows decimals."
    )
    blind_entry = models.BooleanField(
        default=True,
        help_text="Hide nominal and earlier repeats until a reading is in: a seen figure pulls the tape.",
    )
    paper = models.CharField(max_length=6, choices=Paper.choices, default=Paper.A4)
    notice_days = models.PositiveSmallIntegerField(
        default=5,
        validators=[MinValueValidator(1), MaxValueValidator(60)],
        help_text="Working days to our own notice.",
    )
    full_claim_days = models.PositiveSmallIntegerField(
        default=10,
        validators=[MinValueValidator(1), MaxValueValidator(90)],
        help_text="Working days to the full table.",
    )
    closed_days = models.TextField(
        blank=True, help_text="Days that are no working days, one or a stretch a line; see calc.working_days."
    )
    measure_all_up_to = models.PositiveIntegerField(
        default=50,
        validators=[MinValueValidator(1)],
        help_text="Up to so many pieces each one is measured; above, by the sampling agreed on.",
    )
    minutes_per_reading = models.DecimalField(
        max_digits=5,
        decimal_places=2,
        default=Decimal("0.5"),
        validators=[MinValueValidator(Decimal("0.01"))],
    )
    cost_per_hour = models.DecimalField(
        max_digits=9, decimal_places=2, null=True, blank=True, help_text="Of measuring, in your own money."
    )
    cost_of_wrong_in = models.DecimalField(
        max_digits=9,
        decimal_places=2,
        null=True,
        blank=True,
        help_text="What selling a piece that is out costs.",
    )
    cost_of_wrong_out = models.DecimalField(
        max_digits=9,
        decimal_places=2,
        null=True,
        blank=True,
        help_text="What refusing a piece that is in costs.",
    )
    shelf_rule = models.ForeignKey(
        DecisionRule, models.PROTECT, related_name="+", limit_choices_to={"purpose": "shelf"}
    )
    claim_rule = models.ForeignKey(
        DecisionRule, models.PROTECT, related_name="+", limit_choices_to={"purpose": "claim"}
    )
    last_piece_number = models.PositiveBigIntegerField(default=0, editable=False)
    last_batch_number = models.PositiveIntegerField(default=0, editable=False)
    last_delivery_number = models.PositiveIntegerField(default=0, editable=False)
    instruments_version = models.PositiveIntegerField(
        default=0,
        editable=False,
        help_text="Counts up with every change of an instrument and every tape check.",
    )

    objects = ShopManager()

    class Meta:
        constraints: ClassVar = [models.CheckConstraint(condition=models.Q(pk=1), name="shop_only_one")]
        verbose_name_plural = "shop"

    def __str__(self) -> str:
        return self.name

    def clean(self) -> None:
        """Refuse closed days that cannot be read, whichever form they come through."""
        try:
            working_days.parse_closed_days(self.closed_days)
        except working_days.ClosedDayNotUnderstood as refusal:
            raise ValidationError({"closed_days": str(refusal)}) from refusal

    def as_closed_days(self) -> frozenset[dt.date]:
        """Every day on which the shop is closed, beside the weekends."""
        return working_days.closed_days(self.closed_days)

    def as_display(self) -> length.Display:
        """How lengths are shown: unit, and fractions where the shop works in inches."""
        return length.Display(
            unit=length.Unit(self.display_unit),
            denominator=self.fraction_denominator if self.display_unit == LengthUnit.INCH else None,
        )


_the_one_shop = KeptQuestion(
    lambda: Shop.objects.select_related("shelf_rule", "claim_rule").filter(pk=Shop.ONLY), values=0
)
