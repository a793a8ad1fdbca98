"""What must never change is refused by the database itself, whoever asks."""

from __future__ import annotations

import pytest
from django.db import IntegrityError, connection, transaction

from inventory.models import AuditRow, DecisionRule, Reading, Spec, SpecCell
from inventory.models.specs import SpecIsFrozen
from inventory.services.audit import leave_row
from tests.factories import NOW, make_inspection, make_maker, make_reading, make_spec

pytestmark = pytest.mark.django_db


def refused(name: str) -> pytest.RaisesExc[IntegrityError]:
    return pytest.raises(IntegrityError, match=name)


def test_a_reading_cannot_be_overwritten_even_by_a_bare_update() -> None:
    reading = make_reading(make_inspection())
    with refused("readings_are_never_overwritten"), transaction.atomic():
        Reading.objects.filter(pk=reading.pk).update(length_nm=1)
    reading.refresh_from_db()
    assert reading.length_nm == 355_000_000


def test_a_reading_cannot_be_overwritten_by_bare_sql() -> None:
    reading = make_reading(make_inspection())
    with refused("readings_are_never_overwritten"), transaction.atomic(), connection.cursor() as cursor:
        cursor.execute("UPDATE inventory_reading SET typed = '1' WHERE id = %s", [reading.pk])


def test_an_audit_row_cannot_be_overwritten() -> None:
    row = leave_row(who=None, deed="try", subject=make_maker(), at=NOW)
    with refused("audit_rows_are_never_overwritten"), transaction.atomic():
        AuditRow.objects.filter(pk=row.pk).update(deed="other")


def test_a_decision_rule_cannot_be_overwritten() -> None:
    with refused("decision_rules_are_never_overwritten"), transaction.atomic():
        DecisionRule.objects.update(multiplier=0)


def test_a_cell_of_a_draft_can_be_changed() -> None:
    spec = make_spec(state=Spec.State.DRAFT)
    cell = SpecCell.objects.filter(spec_point__spec=spec).first()
    assert cell is not None
    cell.nominal_nm = 1_000_000
    cell.save()
    cell.refresh_from_db()
    assert cell.nominal_nm == 1_000_000


def test_a_cell_of_a_spec_in_force_cannot_be_changed() -> None:
    cell = SpecCell.objects.filter(spec_point__spec=make_spec()).first()
    assert cell is not None
    with pytest.raises(SpecIsFrozen, match="Draft a new revision"):
        cell.save()
    with refused("specs_are_frozen_once_in_force"), transaction.atomic():
        SpecCell.objects.filter(pk=cell.pk).update(nominal_nm=1)


def test_one_style_has_at_most_one_spec_in_force() -> None:
    spec = make_spec()
    with pytest.raises(IntegrityError), transaction.atomic():
        make_spec(spec.style)
