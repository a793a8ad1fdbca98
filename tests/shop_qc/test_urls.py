"""Every address of the project, asked for by everybody: one table says who gets what.

Addresses under `api/` speak to other programs and have their own tests; the admin site has one rule for all.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

import pytest
from django.db import transaction
from django.test import Client
from django.urls import reverse

from inventory.models.people import Role
from tests.every_screen import lay_out_everything, named_addresses
from tests.factories import make_user

if TYPE_CHECKING:
    from collections.abc import Iterator

    from inventory.models import User

pytestmark = pytest.mark.django_db

CAST: Final = ("stranger", Role.VIEWER, Role.INSPECTOR, Role.OWNER)

# The answers to GET and to an empty POST, each for stranger, viewer, inspector, owner. 302 sends a stranger
# to the sign-in, and everybody else to what a deed led to.
TABLE: Final[dict[str, tuple[str, ...]]] = {
    # open to all who work here; a form sent to what only shows shows it again
    "302 200 200 200 | 302 200 200 200": (
        *("home", "help", "password-change", "deliveries", "delivery", "delivery-history"),
        *(
            "batches",
            "batch",
            "batch-causes",
            "batch-history",
            "batch-defects",
            "batch-risks",
            "pieces",
            "piece",
            "piece-history",
        ),
        *(
            "makers",
            "maker",
            "styles",
            "style",
            "catalogue",
            "defect-kinds",
            "spec",
            "spec-changes",
            "instruments",
            "rules",
        ),
        *("our-measuring", "studies", "study", "point-budget"),
        *("instrument", "tape-check-result", "check-garments", "check-garment"),
        "exchange",
        *("shop-sampling", "maker-sampling", "batch-sampling", "sampling-list"),
    ),
    "302 200 200 200 | 302 403 403 200": ("style-sampling",),  # all may look, the owner notes
    "302 302 302 302 | 302 302 302 302": ("find",),
    "302 405 405 405 | 302 302 302 302": ("measurements-new",),
    "302 200 200 200 | 302 405 405 405": (
        *("photo", "photo-original", "documents", "document", "document-progress", "document-file"),
    ),
    # for those who work with pieces
    "302 403 200 200 | 302 403 200 200": (
        *(
            "delivery-new",
            "batch-new",
            "pieces-new",
            "batch-dispositions",
            "disposition-new",
            "piece-correct",
        ),
        *(
            "defect-new",
            "defect-photos",
            "document-new",
            "bench",
            "bench-piece",
            "bench-paper",
        ),
        *("tape-check", "check-sitting"),
        *("import-new", "import-columns", "import-progress", "import-template"),
    ),
    "302 403 200 200 | 302 405 405 405": ("bench-level",),
    "302 403 302 302 | 302 403 302 302": (
        "bench-finish",
        "import",
        "check-sitting-finish",
        "study-bench",
    ),  # to the next step
    "302 405 405 405 | 302 403 302 302": (
        *("bench-unread", "import-check", "import-store", "check-sitting-new"),
    ),
    "302 403 302 302 | 302 403 400 400": ("bench-reading",),  # says what is missing
    "302 403 200 200 | 302 403 400 400": ("check-sitting-readings",),
    "302 403 302 302 | 302 403 200 200": ("sampling-draw",),  # shown it leads to the plan
    # for the owner
    "302 403 403 200 | 302 403 403 200": (
        *(
            "maker-new",
            "maker-edit",
            "style-new",
            "style-edit",
            "point-new",
            "point-edit",
            "catalogue-point",
            "defect-kind",
            "defect-kind-new",
        ),
        *("spec-new", "spec-frame", "spec-revise", "instrument-new", "instrument-edit", "instrument-retire"),
        *("export", "export-progress", "export-file"),
        *("shop-sampling-set", "maker-sampling-set", "style-sampling-set"),
        *("check-garment-new", "check-garment-anew"),
        *("study-new", "study-give-up", "study-effect", "point-error"),
        *("rule-new", "settings", "people", "person-new", "person-edit", "person-password"),
    ),
    "302 403 302 200 | 302 403 302 200": ("study-turn",),  # the owner's own
    "302 403 302 200 | 302 403 400 400": ("study-readings",),
    "302 403 403 200 | 302 403 403 302": (  # an empty form is enough to confirm, or changes nothing
        "study-finish",
        *("point-retire", "spec-edit", "spec-tolerances", "spec-publish", "spec-discard", "rule-choose"),
        "check-garment-retire",
    ),
    "302 405 405 405 | 302 403 403 302": (
        "sampling-decide",
        *("point-move", "point-bring-back", "instrument-bring-back", "export-new", "tape-rejudge"),
    ),
    # open to everybody
    "200 200 200 200 | 405 405 405 405": ("health",),
    "200 302 302 302 | 200 302 302 302": ("sign-in",),
    "405 405 405 405 | 302 302 302 302": ("sign-out",),
}
EXPECTED: Final = {name: answers for answers, names in TABLE.items() for name in names}


@pytest.fixture
def cast() -> dict[str, User | None]:
    return {"stranger": None, **{role: make_user(role) for role in Role.values}}


def test_every_address_stands_in_the_table() -> None:
    ours = {name for path, name in named_addresses() if not path.startswith(("admin/", "api/"))}
    assert ours == set(EXPECTED)


def test_everybody_gets_what_the_table_says(cast: dict[str, User | None]) -> None:
    owner = cast[Role.OWNER]
    assert owner is not None
    addresses = lay_out_everything(owner)
    assert set(addresses) == set(EXPECTED)
    clients = [_client_of(cast[who]) for who in CAST]
    answers = {
        name: " | ".join(
            " ".join(_answer(client, method, address) for client in clients) for method in ("get", "post")
        )
        for name, address in addresses.items()
    }
    assert {name: said for name, said in answers.items() if said != EXPECTED[name]} == {}


def test_nobody_but_the_owner_gets_into_any_page_of_the_admin_site(cast: dict[str, User | None]) -> None:
    addresses = list(_admin_addresses())
    assert len(addresses) > 60
    for who in ("stranger", Role.VIEWER, Role.INSPECTOR):
        client = _client_of(cast[who])
        for address in addresses:
            for method in ("get", "post"):
                assert _answer(client, method, address) == "302", (who, method, address)


def _admin_addresses() -> Iterator[str]:
    for path, name in named_addresses():
        if path.startswith("admin/inventory/") and not name.endswith(":None"):
            yield reverse(name, args=["1"] if "<" in path else None)


def _client_of(person: User | None) -> Client:
    client = Client()
    if person is not None:
        client.force_login(person)
    return client


def _answer(client: Client, method: str, address: str) -> str:
    """The answer's number; whatever the request did is undone."""
    before = transaction.savepoint()
    session = dict(client.cookies)
    answer = client.get(address) if method == "get" else client.post(address)
    if answer.streaming:
        answer.getvalue()  # a file, read whole so that it is closed
    transaction.savepoint_rollback(before)
    client.cookies.clear()  # signing out left an empty cookie
    client.cookies.update(session)
    return str(answer.status_code)
