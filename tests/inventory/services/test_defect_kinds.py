"""The shop's own list of kinds of defects."""

import pytest

from inventory.access import NotAllowed
from inventory.catalogue.defects import DEFECT_KINDS
from inventory.models import AuditRow, DefectKind
from inventory.models.people import Role
from inventory.services.defect_kinds import KindTaken, add_defect_kind, change_defect_kind
from inventory.services.first_rows import lay_first_rows
from tests.factories import NOW, make_user

pytestmark = pytest.mark.django_db


def test_the_usual_kinds_are_laid_once_and_what_the_owner_changed_stays() -> None:
    assert list(DefectKind.objects.values_list("name", flat=True)) == [kind.name for kind in DEFECT_KINDS]
    DefectKind.objects.filter(name="loose thread ends").update(severity="major")
    DefectKind.objects.filter(name="damaged pack").delete()
    lay_first_rows()
    assert DefectKind.objects.get(name="loose thread ends").severity == "major"
    assert DefectKind.objects.count() == len(DEFECT_KINDS) - 1


def test_a_kind_is_added_at_the_end_and_changed_with_an_audit_row() -> None:
    owner = make_user(Role.OWNER)
    kind = add_defect_kind(
        family="seams", name="thread of the wrong weight", severity="minor", by=owner, at=NOW
    )
    assert kind.position == len(DEFECT_KINDS) + 1
    change_defect_kind(kind=kind, severity="major", is_active=False, by=owner, at=NOW)
    assert AuditRow.objects.get(deed="change defect kind").detail["changed"] == {
        "severity": ["minor", "major"],
        "is_active": [True, False],
    }


def test_a_name_stands_for_one_kind() -> None:
    owner = make_user(Role.OWNER)
    with pytest.raises(KindTaken, match="is in the list already, under seams"):
        add_defect_kind(family="edges", name="Loose thread ends", severity="minor", by=owner, at=NOW)
    other = DefectKind.objects.get(name="stud loose")
    with pytest.raises(KindTaken):
        change_defect_kind(kind=other, name="loose thread ends", by=owner, at=NOW)


def test_only_the_owner_changes_the_list() -> None:
    with pytest.raises(NotAllowed):
        add_defect_kind(family="seams", name="x", severity="minor", by=make_user(Role.INSPECTOR), at=NOW)
    with pytest.raises(NotAllowed):
        change_defect_kind(kind=DefectKind.objects.all()[0], note="x", by=make_user(Role.INSPECTOR), at=NOW)
