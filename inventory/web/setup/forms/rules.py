"""The boxes of a new version of a decision rule."""

from __future__ import annotations

from collections.abc import Mapping
from decimal import Decimal
from typing import TYPE_CHECKING, Any

from django import forms

from inventory.models import DecisionRule
from inventory.web.setup.forms.fields_of_model import FieldsOfModel

if TYPE_CHECKING:
    from inventory.queries.rule_risks import RuleRisk

Kind = DecisionRule.Kind


class RuleForm(FieldsOfModel):
    """`keep`: fill in the multiple that keeps the risk of the row over all its looks."""

    model = DecisionRule
    names = ("name", "code", "purpose", "kind", "risk", "multiplier", "max_repeats", "at_the_end", "source")
    widgets = {
        "code": forms.TextInput(attrs={"size": 24, "autocapitalize": "none"}),
        "kind": forms.RadioSelect(),
        "multiplier": forms.TextInput(attrs={"size": 8, "inputmode": "decimal"}),
        "max_repeats": forms.NumberInput(attrs={"min": 1, "max": 12}),
        "source": forms.Textarea(attrs={"rows": 3}),
    }
    labels = {
        "purpose": "What it decides",
        "kind": "Guard band",
        "multiplier": "Multiple of the uncertainty",
        "max_repeats": "Most readings of one point",
        "at_the_end": "When those are used up and it is still too close",
    }
    help_texts = {
        "code": "The same code makes the next version of that rule; another code starts a rule of its own.",
        "multiplier": "For the guard band U and the one as a number of uncertainties: 2 covers 95 %.",
        "source": "Where the rule comes from: a standard, an agreement with the maker.",
    }

    risk = forms.DecimalField(
        label="Stated risk, in percent",
        required=False,
        max_digits=5,
        decimal_places=3,
        widget=forms.TextInput(attrs={"size": 8, "inputmode": "decimal"}),
        help_text="For the guard band by a stated risk: share of wrong verdicts just at a limit, such as 5.",
    )

    def __init__(
        self,
        data: Mapping[str, Any] | None = None,  # Any: what a request carries
        *,
        row: DecisionRule | None = None,
        keep: RuleRisk | None = None,
    ) -> None:
        super().__init__(data, row=row, initial={} if row is None else _filled_in(row, keep))
        in_percent = type(self).base_fields["risk"]
        self.fields = {name: in_percent if name == "risk" else box for name, box in self.fields.items()}
        self.fields["multiplier"].required = False
        kind = self.fields["kind"]
        assert isinstance(kind, forms.ChoiceField)
        kind.choices = Kind.choices

    def clean_risk(self) -> Decimal | None:
        """As a share."""
        typed: Decimal | None = self.cleaned_data["risk"]
        return None if typed is None else typed / 100


def _filled_in(row: DecisionRule, keep: RuleRisk | None) -> dict[str, object]:
    """What stands in the boxes of the width: only those that the kind takes."""
    if keep is not None and keep.keeping is not None:
        return {"kind": Kind.EXPANDED, "multiplier": keep.keeping, "risk": None}
    rule = row.as_rule()
    takes = row.kind in (Kind.EXPANDED, Kind.MULTIPLE)
    return {
        "multiplier": f"{rule.multiplier.normalize():f}" if takes else None,
        "risk": None if rule.risk is None else f"{(100 * rule.risk).normalize():f}",
    }
