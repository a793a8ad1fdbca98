"""Every screen of the floor as owner, inspector, viewer and stranger."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import pytest
from django.urls import reverse

from tests import factories

if TYPE_CHECKING:
    from django.test import Client

pytestmark = pytest.mark.django_db


@dataclass(frozen=True)
class Floor:
    """The addresses of one delivery, batch, piece and defect."""

    delivery: int
    batch: int
    piece: int
    defect: int

    def url(self, name: str) -> str:
        if name.startswith(("delivery", "batch-new")) and name != "delivery-new":
            return reverse(name, args=[self.delivery])
        if name in {"piece", "piece-history", "piece-correct", "disposition-new"}:
            return reverse(name, args=[self.piece])
        if name.startswith(("batch", "pieces-new", "defect-new")) and name != "batches":
            return reverse(name, args=[self.batch])
        return reverse(name, args=[self.defect]) if name == "defect-photos" else reverse(name)


@pytest.fixture
def floor() -> Floor:
    piece = factories.make_piece()
    defect = factories.make_defect(piece)
    return Floor(piece.batch.delivery.number, piece.batch.number, piece.number, defect.pk)


SEEN_BY_ALL = (
    "home",
    "deliveries",
    "delivery",
    "delivery-history",
    "batches",
    "batch",
    "batch-history",
    "batch-defects",
    "pieces",
    "piece",
    "piece-history",
    "help",
)
NOT_FOR_VIEWERS = (
    "delivery-new",
    "batch-new",
    "pieces-new",
    "batch-dispositions",
    "defect-new",
    "disposition-new",
    "piece-correct",
    "defect-photos",
)


@pytest.mark.parametrize("name", [*SEEN_BY_ALL, *NOT_FOR_VIEWERS])
@pytest.mark.parametrize("role", ["owner", "inspector", "viewer"])
def test_each_role_sees_its_screens_and_no_other(client: Client, floor: Floor, role: str, name: str) -> None:
    client.force_login(factories.make_user(role))
    expected = 403 if role == "viewer" and name in NOT_FOR_VIEWERS else 200
    assert client.get(floor.url(name)).status_code == expected


@pytest.mark.parametrize("name", [*SEEN_BY_ALL, *NOT_FOR_VIEWERS, "find"])
def test_a_stranger_is_sent_to_the_door(client: Client, floor: Floor, name: str) -> None:
    for answer in (client.get(floor.url(name)), client.post(floor.url(name))):
        assert answer.status_code == 302
        assert answer.headers["Location"].startswith(reverse("sign-in"))


@pytest.mark.parametrize("name", NOT_FOR_VIEWERS)
def test_a_viewer_cannot_send_a_form_either(client: Client, floor: Floor, name: str) -> None:
    client.force_login(factories.make_user("viewer"))
    assert client.post(floor.url(name), {"decision": "hold"}).status_code == 403


@pytest.mark.parametrize(
    ("name", "kind"),
    [("delivery", "D9999"), ("batch", "B9999"), ("piece", "P999999"), ("pieces-new", "B9999")],
)
def test_a_label_nobody_carries_has_no_page(client: Client, name: str, kind: str) -> None:
    client.force_login(factories.make_user("owner"))
    assert client.get(reverse(name, args=[kind])).status_code == 404


@pytest.mark.parametrize("label_of", ["piece", "batch", "delivery"])
def test_a_label_is_found_as_typed_or_scanned(client: Client, label_of: str) -> None:
    piece = factories.make_piece()
    labels = {"piece": piece.label, "batch": piece.batch.label, "delivery": piece.batch.delivery.label}
    label = labels[label_of]
    client.force_login(factories.make_user("viewer"))
    page = reverse(label_of, args=[label])
    for typed in (label, f" {label.lower()} ", f"http://shop.example{page}"):
        answer = client.get(reverse("find"), {"q": typed})
        assert (answer.status_code, answer.headers["Location"]) == (302, page)


@pytest.mark.parametrize("typed", ["", "P999999", "nonsense", "B" + "9" * 18, "?", "P" + "9" * 18])
def test_what_is_no_label_leads_to_the_pieces_with_a_word(client: Client, typed: str) -> None:
    client.force_login(factories.make_user("viewer"))
    answer = client.get(reverse("find"), {"q": typed}, follow=True)
    assert answer.status_code == 200
    assert answer.request["PATH_INFO"] == reverse("pieces")
    assert 'class="notice' in answer.content.decode()


@pytest.mark.parametrize("name", ["deliveries", "batches", "pieces"])
def test_filters_that_make_no_sense_filter_nothing(client: Client, floor: Floor, name: str) -> None:
    client.force_login(factories.make_user("viewer"))
    odd = {"maker": "x", "style": "-1", "shelf": "purple", "standing": "?", "page": "zz", "batch": "B"}
    answer = client.get(reverse(name), odd)
    assert answer.status_code == 200
    assert len(answer.context["page"].object_list) == 1


def test_a_viewer_is_offered_nothing_that_writes(client: Client, floor: Floor) -> None:
    client.force_login(factories.make_user("viewer"))
    for name in ("home", "deliveries", "delivery", "batch", "piece", "batch-defects"):
        page = client.get(floor.url(name)).content.decode()
        for closed in NOT_FOR_VIEWERS:
            assert floor.url(closed) not in page
