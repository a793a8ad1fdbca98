import pytest

from inventory.access import NotAllowed
from inventory.models import AuditRow, CataloguePoint, Style
from inventory.models.people import Role
from inventory.services.styles import (
    WORDS,
    NoPointChosen,
    PointNotInCatalogue,
    StyleCodeTaken,
    change_style,
    start_style,
)
from tests.factories import NOW, make_style, make_user

pytestmark = pytest.mark.django_db


def _start(**changed: object) -> Style:
    values: dict[str, object] = {
        "code": "elm",
        "name": "Elm",
        "family": "laced_underbust",
        "point_codes": ["CF", "WA", "UB"],
        "by": make_user(Role.OWNER),
        "at": NOW,
    }
    return start_style(**values | changed)  # type: ignore[arg-type]  # a test's own mix


def test_a_style_copies_the_catalogue_in_the_order_of_the_tape() -> None:
    style = _start()
    assert [(point.position, point.code) for point in style.points.all()] == [(1, "UB"), (2, "WA"), (3, "CF")]
    waist = style.points.get(code="WA")
    default = CataloguePoint.objects.get(group="laced", code="WA")
    for word in WORDS:
        assert getattr(waist, word) == getattr(default, word), word
    assert AuditRow.objects.get().detail == {"family": "laced_underbust", "points": ["UB", "WA", "CF"]}


def test_the_words_copied_are_the_nine_and_the_reading_error() -> None:
    assert set(WORDS) >= {
        "name",
        "measured_from",
        "measured_to",
        "path",
        "level",
        "state",
        "face",
        "kind",
        "sides",
        "same_person_sd_nm",
        "two_people_sd_nm",
    }


def test_a_changed_default_is_what_the_next_style_starts_with() -> None:
    CataloguePoint.objects.filter(group="laced", code="WA").update(level="on our own thread mark")
    assert _start().points.get(code="WA").level == "on our own thread mark"


def test_the_same_code_means_another_point_on_another_family() -> None:
    style = _start(family="jacket", point_codes=["CB"])
    assert style.points.get().sides == "single"


def test_a_style_without_points_is_refused() -> None:
    with pytest.raises(NoPointChosen, match="Tick at least one"):
        _start(point_codes=[])
    assert not Style.objects.exists()


def test_a_point_the_catalogue_lacks_is_refused() -> None:
    with pytest.raises(PointNotInCatalogue, match="no point 'ZZ' for laced, underbust garments"):
        _start(point_codes=["WA", "ZZ"])


def test_a_code_is_taken_in_any_case() -> None:
    make_style(code="elm", name="Elm")
    with pytest.raises(StyleCodeTaken, match="'ELM' belongs to Elm"):
        _start(code="ELM")


def test_a_change_of_style_keeps_the_count_of_point_changes() -> None:
    style = make_style(code="elm")
    stale = Style.objects.get(pk=style.pk)
    stale.points_version = 0
    change_style(style=stale, by=make_user(Role.OWNER), at=NOW, name="Elm, long")
    style.refresh_from_db()
    assert style.name == "Elm, long"
    assert style.points_version > 0


@pytest.mark.parametrize("role", [Role.INSPECTOR, Role.VIEWER])
def test_only_the_owner_makes_styles(role: str) -> None:
    with pytest.raises(NotAllowed):
        _start(by=make_user(role))
    with pytest.raises(NotAllowed):
        change_style(style=make_style(), by=make_user(role), at=NOW, name="Mine")
