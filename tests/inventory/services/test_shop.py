import pytest
from django.core.exceptions import ValidationError

from inventory.access import NotAllowed
from inventory.models import AuditRow, Shop
from inventory.models.people import Role
from inventory.services.shop import ClaimBeforeNotice, ClosedDaysRefused, FractionsNeedInches, change_shop
from tests.factories import NOW, make_user, the_shop

pytestmark = pytest.mark.django_db


def test_the_owner_chooses_how_lengths_are_shown() -> None:
    shop = change_shop(by=make_user(Role.OWNER), at=NOW, display_unit="in", fraction_denominator=16)
    assert shop.as_display().denominator == 16
    assert AuditRow.objects.get().detail["changed"]["display_unit"] == ["mm", "in"]


def test_fractions_of_millimetres_are_refused() -> None:
    with pytest.raises(FractionsNeedInches, match="1/8 were chosen with millimetres"):
        change_shop(by=make_user(Role.OWNER), at=NOW, display_unit="mm", fraction_denominator=8)
    assert the_shop().fraction_denominator is None


def test_the_full_table_is_not_due_before_the_notice() -> None:
    with pytest.raises(ClaimBeforeNotice, match="Give at least 9 days"):
        change_shop(by=make_user(Role.OWNER), at=NOW, notice_days=9, full_claim_days=4)


def test_closed_days_are_kept_in_order_with_an_audit_row() -> None:
    change_shop(by=make_user(Role.OWNER), at=NOW, closed_days="2026-12-25 holiday\n2026-05-01")
    assert the_shop().closed_days == "2026-05-01\n2026-12-25 holiday"
    assert AuditRow.objects.get().detail["changed"]["closed_days"] == ["", "2026-05-01\n2026-12-25 holiday"]


def test_a_closed_day_that_is_no_day_is_refused_at_its_box_and_nothing_is_kept() -> None:
    with pytest.raises(ClosedDaysRefused, match="Christmas") as refused:
        change_shop(by=make_user(Role.OWNER), at=NOW, name="New", closed_days="Christmas")
    assert refused.value.field == "closed_days"
    assert (the_shop().closed_days, the_shop().name) == ("", "Our shop")


def test_a_unit_that_does_not_exist_is_refused() -> None:
    with pytest.raises(ValidationError):
        change_shop(by=make_user(Role.OWNER), at=NOW, display_unit="ell")


def test_the_counters_of_numbers_are_not_written_back() -> None:
    Shop.objects.filter(pk=Shop.ONLY).update(last_piece_number=41)
    change_shop(by=make_user(Role.OWNER), at=NOW, name="Our bench")
    assert (the_shop().name, the_shop().last_piece_number) == ("Our bench", 41)


@pytest.mark.parametrize("role", [Role.INSPECTOR, Role.VIEWER])
def test_only_the_owner_changes_the_shop(role: str) -> None:
    with pytest.raises(NotAllowed):
        change_shop(by=make_user(role), at=NOW, name="Mine")
