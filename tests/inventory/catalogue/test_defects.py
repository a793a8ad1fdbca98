"""The defect kinds are complete and fit the database that stores them."""

import pytest

from inventory.catalogue import defects
from inventory.models.defects import Defect

every_kind = pytest.mark.parametrize("kind", defects.DEFECT_KINDS, ids=lambda kind: kind.name)


@every_kind
def test_each_kind_has_a_name_that_fits_and_a_class_the_database_knows(kind: defects.DefectKind) -> None:
    limit = Defect._meta.get_field("kind").max_length
    assert limit is not None
    assert 0 < len(kind.name) <= limit
    assert kind.severity in Defect.Severity.values


def test_no_name_is_given_twice() -> None:
    names = [kind.name for kind in defects.DEFECT_KINDS]
    assert len(set(names)) == len(names)


def test_zones_are_those_of_the_database_and_say_what_they_mean() -> None:
    assert [zone.code for zone in defects.ZONES] == list(Defect.Zone.values)
    assert all(zone.meaning.endswith(".") for zone in defects.ZONES)


def test_what_can_hurt_is_critical_whatever_the_zone() -> None:
    sharp = [kind for kind in defects.DEFECT_KINDS if kind.family == defects.SHARP]
    assert sharp
    assert {kind.severity for kind in sharp} == {"critical"}


def test_every_class_and_family_is_used() -> None:
    assert {kind.severity for kind in defects.DEFECT_KINDS} == {"critical", "major", "minor"}
    families = {
        defects.SHARP,
        defects.BONING,
        defects.FRONT,
        defects.LACING,
        defects.SEAMS,
        defects.EDGES,
        defects.SHAPE,
        defects.CLOTH,
        defects.STAINS,
        defects.HARDWARE,
        defects.LABELS,
    }
    assert {kind.family for kind in defects.DEFECT_KINDS} == families
