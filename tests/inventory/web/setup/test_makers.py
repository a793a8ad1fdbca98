import pytest
from django.urls import reverse

from inventory.models import AuditRow, Maker
from tests.factories import make_delivery, make_maker
from tests.inventory.web.setup.cast import client_of, said

pytestmark = pytest.mark.django_db
BOXES = {
    "code": "north",
    "name": "North workshop",
    "language": "en",
    "notice_window_days": "14",
    "window_source": "contract of 3 May",
    "is_active": "on",
}


def test_a_maker_is_entered() -> None:
    answer = client_of().post(reverse("maker-new"), BOXES, follow=True)
    assert answer.redirect_chain == [(reverse("maker", args=["north"]), 302)]
    assert "North workshop is entered." in said(answer)
    assert Maker.objects.get().notice_window_days == 14
    assert AuditRow.objects.get().deed == "add maker"


def test_a_taken_code_is_said_at_its_box_and_what_was_typed_stays() -> None:
    make_maker(code="north", name="The first")
    page = said(client_of().post(reverse("maker-new"), BOXES | {"country": "Utopia"}))
    assert "belongs to The first" in page
    assert 'value="Utopia"' in page
    assert 'aria-invalid="true"' in page


@pytest.mark.parametrize(
    ("box", "typed"), [("code", "new"), ("code", "two words"), ("email", "nowhere"), ("name", "")]
)
def test_a_wrong_box_is_told_and_nothing_is_saved(box: str, typed: str) -> None:
    page = said(client_of().post(reverse("maker-new"), BOXES | {box: typed}))
    assert "needs another look" in page
    assert not Maker.objects.exists()


def test_an_empty_form_is_told_what_it_needs() -> None:
    page = said(client_of().post(reverse("maker-new"), {}))
    assert "entries need another look" in page


def test_a_maker_is_changed() -> None:
    make_maker(code="north", name="North")
    answer = client_of().post(reverse("maker-edit", args=["north"]), BOXES | {"name": "North and sons"})
    assert answer.status_code == 302
    assert Maker.objects.get().name == "North and sons"


def test_the_page_says_where_the_window_is_agreed_and_that_the_contract_comes_first() -> None:
    maker = make_maker(notice_window_days=8, window_source="Order of 2 June")
    page = said(client_of().get(reverse("maker", args=[maker.code])))
    assert "8 days from arrival" in page
    assert "Order of 2 June" in page
    assert "General information, not legal advice. The contract comes first" in page


def test_the_page_lists_what_came_last() -> None:
    delivery = make_delivery()
    page = said(client_of().get(reverse("maker", args=[delivery.maker.code])))
    assert reverse("delivery", args=[delivery.number]) in page
    assert "order PO-1" in page


def test_an_empty_list_says_what_to_do_next() -> None:
    assert "No maker yet" in said(client_of().get(reverse("makers")))


def test_makers_no_longer_used_are_shown_when_asked_for() -> None:
    make_maker(name="Gone", is_active=False)
    client = client_of()
    assert "Gone" not in said(client.get(reverse("makers")))
    assert "no longer used" in said(client.get(reverse("makers"), {"all": "1"}))
