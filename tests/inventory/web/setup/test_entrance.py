"""Who gets through which door, and with how many statements the lists are made."""

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from inventory.models import CataloguePoint, Spec
from inventory.models.people import Role
from inventory.services.specs import revise_spec
from tests.factories import NOW, make_instrument, make_maker, make_spec, make_style, make_user, the_shop
from tests.inventory.web.setup.cast import client_of

pytestmark = pytest.mark.django_db

FOR_ALL = ["makers", "maker", "styles", "style", "catalogue", "spec", "spec-changes", "instruments", "rules"]
FOR_SETTING_UP = [
    "maker-new",
    "maker-edit",
    "style-new",
    "style-edit",
    "point-new",
    "point-edit",
    "point-retire",
    "catalogue-point",
    "spec-new",
    "spec-edit",
    "spec-tolerances",
    "spec-frame",
    "spec-publish",
    "spec-revise",
    "spec-discard",
    "instrument-new",
    "instrument-edit",
    "instrument-retire",
]
FOR_THE_OWNER_AS_SUCH = [
    "rule-new",
    "rule-choose",
    "settings",
    "people",
    "person-new",
    "person-edit",
    "person-password",
]
ONLY_POSTED = ["point-move", "point-bring-back", "instrument-bring-back"]


@pytest.fixture
def addresses() -> dict[str, str]:
    """Every address, with records behind it."""
    owner = make_user(Role.OWNER)
    maker, instrument = make_maker(code="north"), make_instrument()
    spec = make_spec(make_style(code="elm"))
    draft = revise_spec(spec=spec, reason="tighter", by=owner, at=NOW)
    point = spec.style.points.get(code="WA")
    bare = make_style(code="oak")
    arguments: dict[str, object] = {
        "maker": maker.code,
        "maker-edit": maker.code,
        "style": "elm",
        "style-edit": "elm",
        "point-new": "elm",
        "spec-new": bare.code,
        "catalogue-point": CataloguePoint.objects.values_list("pk", flat=True)[0],
        "rule-choose": the_shop().shelf_rule.pk,
        "person-edit": owner.pk,
        "person-password": owner.pk,
    }
    for name in ("point-edit", "point-retire", "point-move", "point-bring-back"):
        arguments[name] = point.pk
    for name in ("instrument-edit", "instrument-retire", "instrument-bring-back"):
        arguments[name] = instrument.pk
    for name in (
        name for name in (*FOR_ALL, *FOR_SETTING_UP) if name.startswith("spec") and name != "spec-new"
    ):
        arguments[name] = draft.pk
    names = [*FOR_ALL, *FOR_SETTING_UP, *FOR_THE_OWNER_AS_SUCH, *ONLY_POSTED, "password-change"]
    return {name: reverse(name, args=[arguments[name]] if name in arguments else None) for name in names}


def test_everybody_who_works_here_may_look(addresses: dict[str, str]) -> None:
    for role in Role.values:
        client = client_of(role)
        for name in (*FOR_ALL, "password-change"):
            assert client.get(addresses[name]).status_code == 200, (role, name)


def test_the_owner_gets_through_every_door(addresses: dict[str, str]) -> None:
    client = client_of(Role.OWNER)
    for name in (*FOR_SETTING_UP, *FOR_THE_OWNER_AS_SUCH):
        assert client.get(addresses[name]).status_code == 200, name


@pytest.mark.parametrize("role", [Role.INSPECTOR, Role.VIEWER])
def test_nobody_else_sets_up(addresses: dict[str, str], role: str) -> None:
    client = client_of(role)
    for name in (*FOR_SETTING_UP, *FOR_THE_OWNER_AS_SUCH):
        assert client.get(addresses[name]).status_code == 403, name
        assert client.post(addresses[name], {"reason": "mine"}).status_code == 403, name
    for name in ONLY_POSTED:
        assert client.post(addresses[name]).status_code == 403, name


def test_a_stranger_is_sent_to_the_sign_in(addresses: dict[str, str]) -> None:
    client = Client()
    for name, address in addresses.items():
        answer = client.post(address) if name in ONLY_POSTED else client.get(address)
        assert answer.status_code == 302, name
        assert answer["Location"].startswith(reverse("sign-in")), name


@pytest.mark.parametrize("name", ONLY_POSTED)
def test_deeds_without_a_page_are_not_done_by_looking(addresses: dict[str, str], name: str) -> None:
    assert client_of().get(addresses[name]).status_code == 405


@pytest.mark.parametrize("role", [Role.INSPECTOR, Role.VIEWER])
def test_who_only_looks_is_offered_nothing_to_change(addresses: dict[str, str], role: str) -> None:
    client = client_of(role)
    for name in FOR_ALL:
        page = client.get(addresses[name]).content.decode()
        for door in (*FOR_SETTING_UP, *FOR_THE_OWNER_AS_SUCH, *ONLY_POSTED):
            assert f'"{addresses[door]}"' not in page, (name, door)


@pytest.mark.parametrize(
    "path",
    ["/makers/nobody/", "/styles/nothing/", "/specs/999999/", "/points/999999/", "/catalogue/999999/"],
)
def test_what_is_not_there_is_said_to_be_missing(path: str) -> None:
    assert client_of().get(path).status_code == 404


@pytest.mark.parametrize("name", ["makers", "styles", "catalogue", "instruments", "style", "spec", "rules"])
def test_a_page_takes_the_same_statements_however_much_is_there(addresses: dict[str, str], name: str) -> None:
    client = client_of()
    client.get(addresses[name])  # fills what is kept for the session
    before = _statements(client, addresses[name])
    for number in range(5):
        make_maker()
        make_instrument()
        make_spec(make_style(code=f"more-{number}"))
        style = Spec.objects.get(pk=addresses["spec"].split("/")[2]).style
        point = style.points.get(code="WA")
        point.pk, point.code = None, f"X{number}"
        point._state.adding = True
        point.save()
    assert _statements(client, addresses[name]) == before <= 16


def _statements(client: Client, address: str) -> int:
    with CaptureQueriesContext(connection) as captured:
        assert client.get(address).status_code == 200
    return len(captured)
