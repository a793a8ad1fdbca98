"""Help with the level at the bench: worked out, kept with the reading, and shown wherever the reading is."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest
from django.test import Client
from django.urls import reverse

from inventory.calc.level import read_working
from inventory.models import Reading, User
from inventory.models.people import Role
from inventory.services.inspections import finish_inspection
from reports.queries.sheets import sheet_of
from tests.factories import NOW, make_piece, make_user, measure_all

if TYPE_CHECKING:
    from inventory.models import Piece

pytestmark = pytest.mark.django_db

SLANT = {"kind": "slant", "reading": "300.7", "start": "100", "end": "120"}


@pytest.fixture
def inspector(client: Client) -> User:
    person = make_user(Role.INSPECTOR)
    client.force_login(person)
    return person


@pytest.fixture
def piece(inspector: User) -> Piece:
    return make_piece()


def _ask(client: Client, piece: Piece, **typed: str) -> str:
    address = reverse("bench-level", args=[piece.number])
    return client.get(address, {"step": "WA-L", **typed}).content.decode()


def _store(client: Client, piece: Piece, typed: str, working: str) -> int:
    body = {"step": "WA-L", "typed": typed, "unit": "mm", "working": working}
    address = reverse("bench-reading", args=[piece.number])
    return client.post(address, body, headers={"Accept": "application/json"}).status_code


def test_a_slant_is_taken_out_and_offered_to_be_stored(client: Client, piece: Piece) -> None:
    """√(300.7² − 20²) = 300.03."""
    page = _ask(client, piece, **SLANT)
    assert "The far end lay 20 mm off its level: the tape read 0.7 mm too long." in page
    assert "The tape&#x27;s figure less the slant" in page or "The tape's figure less the slant" in page
    assert 'name="working" value="kind=slant&amp;reading=300.7&amp;start=100&amp;end=120"' in page
    assert 'value="300 mm"' in page
    assert "data-working" not in page, "the button is for the fold beside the box"


def test_the_figure_offered_keeps_the_tenth_of_a_millimetre(client: Client, piece: Piece) -> None:
    page = _ask(client, piece, kind="slant", reading="354.6", start="100", end="110")
    assert 'value="354.5 mm"' in page


def test_in_place_the_panel_has_the_button_that_puts_the_figure_into_the_box(
    client: Client, piece: Piece
) -> None:
    page = _ask(client, piece, in_place="1", **SLANT)
    assert 'data-figure="300 mm"' in page
    assert 'data-of-step="WA-L"' in page


def test_the_working_is_reckoned_again_where_the_reading_is_stored_and_the_figure_stays_as_typed(
    client: Client, piece: Piece
) -> None:
    assert _store(client, piece, "354", "kind=slant&reading=354.6&start=100&end=120") == 200
    reading = Reading.objects.get()
    assert (reading.typed, reading.length_nm) == ("354", 354_000_000)
    assert reading.working is not None
    working = read_working(reading.working)
    assert (working.kind.value, working.given[0].nm) == ("slant", 354_600_000)
    assert working.result_nm == pytest.approx(354_035_546, abs=1_000)


@pytest.mark.parametrize(
    "working",
    ["kind=guess&reading=1", "kind=slant&reading=300", "kind=slant&reading=10&start=0&end=90", "kind=waist"],
)
def test_a_working_that_cannot_be_stores_nothing(client: Client, piece: Piece, working: str) -> None:
    assert _store(client, piece, "354", working) == 422
    assert not Reading.objects.exists()


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        (
            {"kind": "edge", "reading": "289", "straight": "280", "sag": "30"},
            "It looks as if it was read along the edge",
        ),
        ({"kind": "waist", "tape": "178", "narrowest": "171"}, "Record both"),
        ({"kind": "waist", "tape": "178", "narrowest": "175"}, "What else was found agrees."),
        (
            {"kind": "panels", "straight": "170", "panel1": "55", "panel2": "54", "panel3": "50"},
            "Go by the panels",
        ),
        ({"kind": "slant", "reading": "300", "start": "100", "end": "x"}, "was read as"),
        ({"kind": "slant", "reading": "300"}, "Height at the start is not typed. Type what you measured."),
        ({"kind": "waist"}, "Find at least one anchor"),
        ({"kind": "guess"}, "Choose one of slant, edge, waist, panels"),
    ],
)
def test_every_helper_says_what_it_found_or_what_is_wrong(
    client: Client, piece: Piece, typed: dict[str, str], said: str
) -> None:
    assert said in _ask(client, piece, **typed)


def test_the_help_does_not_give_the_nominal_away(client: Client, piece: Piece) -> None:
    page = _ask(client, piece, kind="panels", straight="100", panel1="50", panel2="50")
    assert "355" not in page.partition("<main")[2].partition("</main>")[0]


def test_the_working_is_shown_on_the_look_back_the_piece_and_the_sheet(
    client: Client, piece: Piece, inspector: User
) -> None:
    _store(client, piece, "354", "kind=slant&reading=354.6&start=100&end=120")
    said = "The far end lay 20 mm off its level"
    assert said in client.get(reverse("bench-reading", args=[piece.number])).content.decode()
    assert said in client.get(reverse("piece", args=[piece.number])).content.decode()
    inspection = Reading.objects.get().inspection
    measure_all(inspection)
    verdict = finish_inspection(inspection=inspection, by=inspector, at=NOW)
    (note,) = sheet_of(verdict.piece).workings
    assert (note.code, note.side, note.document["kind"]) == ("WA", "L", "slant")


def test_a_viewer_gets_no_help(client: Client, piece: Piece) -> None:
    client.force_login(make_user(Role.VIEWER))
    assert client.get(reverse("bench-level", args=[piece.number])).status_code == 403
