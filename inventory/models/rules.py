"""Decision rules as data: versioned, never edited; a verdict keeps the one it was made by."""

from __future__ import annotations

from decimal import Decimal
from typing import ClassVar, cast

from django.db import models

from inventory.calc import conformity


class DecisionRule(models.Model):
    class Purpose(models.TextChoices):
        SHELF = "shelf", "Shelf: what we accept"
        CLAIM = "claim", "Claim: what we can prove against a maker"

    class Kind(models.TextChoices):
        PLAIN = "plain", "plain: no guard band"
        RISK = "risk", "guard band by a stated risk"
        EXPANDED = "expanded", "guard band as wide as the expanded uncertainty U"
        MULTIPLE = "multiple", "guard band as a number of standard uncertainties"

    class AtTheEnd(models.TextChoices):
        PLAIN = "plain", "the mean against the plain limit decides"
        STAYS_CLOSE = "stays_close", "it stays too close to call"

    code = models.SlugField(max_length=40)
    version = models.PositiveSmallIntegerField(default=1)
    purpose = models.CharField(max_length=5, choices=Purpose.choices)
    name = models.CharField(max_length=80)
    kind = models.CharField(max_length=8, choices=Kind.choices, default=Kind.MULTIPLE)
    risk = models.DecimalField(
        max_digits=6,
        decimal_places=5,
        null=True,
        blank=True,
        help_text="Share of wrong verdicts at a limit, such as 0.05; only the kind 'by risk' states one.",
    )
    multiplier = models.DecimalField(
        max_digits=6, decimal_places=3, help_text="Guard band = multiplier x standard uncertainty."
    )
    max_repeats = models.PositiveSmallIntegerField(
        default=4, help_text="Readings of one point after which no further repeat is asked for."
    )
    at_the_end = models.CharField(max_length=12, choices=AtTheEnd.choices, default=AtTheEnd.PLAIN)
    source = models.TextField(blank=True)

    class Meta:
        ordering: ClassVar = ["purpose", "code", "-version"]
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["code", "version"], name="rules_code_and_version_once"),
            models.CheckConstraint(
                condition=models.Q(multiplier__gte=0), name="rules_multiplier_not_negative"
            ),
            models.CheckConstraint(
                condition=models.Q(kind="risk", risk__gt=0, risk__lt=Decimal("0.5"))
                | (~models.Q(kind="risk") & models.Q(risk__isnull=True)),
                name="rules_risk_with_its_kind",
            ),
            models.CheckConstraint(condition=models.Q(max_repeats__gte=1), name="rules_at_least_one_reading"),
        ]

    def __str__(self) -> str:
        return f"{self.name}, version {self.version}"

    def as_rule(self) -> conformity.Rule:
        """The plain value the calculations take."""
        return conformity.Rule(
            code=self.code,
            version=self.version,
            purpose="claim" if self.purpose == self.Purpose.CLAIM else "shelf",
            multiplier=self.multiplier,
            max_repeats=self.max_repeats,
            at_the_end="plain" if self.at_the_end == self.AtTheEnd.PLAIN else "stays_close",
            kind=cast("conformity.GuardKind", self.kind),
            risk=None if self.risk is None else self.risk.normalize(),
        )
