"""The document a verdict is kept with: what is new is written only where it is used, and all is read back."""

import dataclasses
import json
from decimal import Decimal

from inventory.calc.conformity import DEFAULT_CLAIM, DEFAULT_SHELF, Rule, read_rule
from inventory.calc.plan import PointPlan
from inventory.calc.uncertainty import ReadingError
from inventory.models import findings
from tests.calc.plans import MM, half


def test_a_document_by_planning_values_and_bare_multiples_is_written_as_it_always_was() -> None:
    """So its digest is still the one under which older verdicts keep it."""
    shelf = dataclasses.replace(DEFAULT_SHELF, kind="multiple", risk=None)
    document = findings.basis_document([half()], size_label="28", shelf=shelf, claim=DEFAULT_CLAIM)
    assert document["points"][0]["error"] == {"repeat_sd_nm": MM, "person_sd_nm": 0}
    assert document["shelf_rule"] == {
        "code": "shelf-guarded",
        "version": 1,
        "purpose": "shelf",
        "multiplier": "1.645",
        "max_repeats": 4,
        "at_the_end": "plain",
    }


def test_a_study_and_a_stated_risk_are_kept_and_read_back() -> None:
    plan: PointPlan = dataclasses.replace(
        half(), error=ReadingError(MM, MM // 2, repeat_dof=20, person_dof=1)
    )
    rule = Rule.by_risk("five", 3, "shelf", risk=Decimal("0.05"))
    document = findings.basis_document([plan], size_label="28", shelf=rule, claim=DEFAULT_CLAIM)
    kept = json.loads(json.dumps(document))
    assert findings.read_plans(kept) == {plan.code: plan}
    assert read_rule(kept["shelf_rule"]) == rule
    assert findings.digest_of(document) == findings.digest_of(kept)
