"""The rows every installation starts with: the shop, its two rules, the catalogues of points and defects.

Laid after each `migrate` (as Django lays permissions), and only where they are missing: what the owner
changed or removed stays as it is.
"""

from __future__ import annotations

from typing import Any

from django.db import transaction

from inventory import catalogue
from inventory.calc.conformity import DEFAULT_CLAIM, DEFAULT_SHELF, Rule
from inventory.catalogue.defects import DEFECT_KINDS
from inventory.models import CataloguePoint, DecisionRule, DefectKind, Shop
from inventory.models.points import Sides

RULE_WORDS = {
    DEFAULT_SHELF.code: (
        "Shelf, guarded",
        "A risk of 5 % at a limit: in or out beyond doubt, or measured again (ISO 14253-1; from memory).",
    ),
    DEFAULT_CLAIM.code: (
        "Claim, proved",
        "Guard band U = 2 u: outside by more than the expanded uncertainty (ILAC-G8; from memory).",
    ),
}


def lay_first_rows(**_: Any) -> None:  # Any: the arguments of Django's post_migrate
    """Lay what is missing; safe to call any number of times."""
    with transaction.atomic():
        shelf, claim = _lay_rule(DEFAULT_SHELF), _lay_rule(DEFAULT_CLAIM)
        Shop.objects.get_or_create(pk=Shop.ONLY, defaults={"shelf_rule": shelf, "claim_rule": claim})
        if not CataloguePoint.objects.exists():
            CataloguePoint.objects.bulk_create(_as_row(point) for point in catalogue.POINTS)
        if not DefectKind.objects.exists():
            DefectKind.objects.bulk_create(
                DefectKind(
                    family=kind.family,
                    name=kind.name,
                    severity=kind.severity,
                    note=kind.note,
                    position=position,
                )
                for position, kind in enumerate(DEFECT_KINDS, start=1)
            )


def _lay_rule(rule: Rule) -> DecisionRule:
    name, source = RULE_WORDS[rule.code]
    row, _ = DecisionRule.objects.get_or_create(
        code=rule.code,
        version=rule.version,
        defaults={
            "purpose": rule.purpose,
            "name": name,
            "kind": rule.kind,
            "risk": rule.risk,
            "multiplier": rule.multiplier,
            "max_repeats": rule.max_repeats,
            "at_the_end": rule.at_the_end,
            "source": source,
        },
    )
    return row


def _as_row(point: catalogue.CataloguePoint) -> CataloguePoint:
    return CataloguePoint(
        group=point.group,
        code=point.code,
        name=point.name,
        measured_from=point.from_,
        measured_to=point.to,
        path=point.path,
        level=point.level,
        state=point.state,
        face=point.face,
        kind=point.kind,
        sides=Sides.PAIR if len(point.sides) == 2 else Sides.SINGLE,
        pitfalls=point.pitfalls,
        informational=point.informational,
        same_person_sd_nm=point.same_person_sd_nm,
        two_people_sd_nm=point.two_people_sd_nm,
        tolerance_minus_nm=point.tolerance_minus_nm,
        tolerance_plus_nm=point.tolerance_plus_nm,
        basis=point.tolerance_basis,
        asymmetry_limit_nm=point.asymmetry_limit_nm,
        source=point.source,
        position=point.position,
    )
