import pytest
from django.urls import reverse

from inventory.models import DefectKind
from inventory.models.people import Role
from tests.inventory.web.setup.cast import client_of, said

pytestmark = pytest.mark.django_db
BOXES = {
    "family": "seams",
    "name": "thread of the wrong weight",
    "severity": "minor",
    "note": "Compare with the sample.",
    "source": "our own",
    "is_active": "on",
}


def test_everybody_reads_the_list_and_the_owner_changes_it() -> None:
    page = said(client_of(Role.VIEWER).get(reverse("defect-kinds")))
    assert "needle, pin, staple or a fragment left in" in page
    assert "Never reach into a piece with bare hands" in page
    assert reverse("defect-kind-new") not in page
    page = said(client_of().post(reverse("defect-kind-new"), BOXES, follow=True))
    assert "thread of the wrong weight" in page
    kind = DefectKind.objects.get(name=BOXES["name"])
    changed = BOXES | {"severity": "major"}
    del changed["is_active"]
    page = said(client_of().post(reverse("defect-kind", args=[kind.pk]), changed, follow=True))
    assert "no longer offered" in page
    kind.refresh_from_db()
    assert (kind.severity, kind.is_active) == ("major", False)


def test_a_name_that_is_there_is_refused_at_its_box() -> None:
    page = said(client_of().post(reverse("defect-kind-new"), BOXES | {"name": "stud loose"}))
    assert "“stud loose” is in the list already" in page
    assert 'value="stud loose"' in page
