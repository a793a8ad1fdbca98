"""What was typed wrong when a piece was numbered is put right, and judged again where that matters."""

from __future__ import annotations

import datetime as dt

import pytest

from inventory.access import NotAllowed
from inventory.models import AuditRow, Disposition, Piece, PieceVerdict, User
from inventory.models.people import Role
from inventory.models.pieces import Standing
from inventory.services.disposition_rules import DispositionRefused
from inventory.services.dispositions import decide_disposition
from inventory.services.inspections import finish_inspection
from inventory.services.piece_corrections import CannotCorrectPiece, Corrected, correct_piece
from tests.factories import NOW, make_inspection, make_piece, make_user, measure_all

pytestmark = pytest.mark.django_db

LATER = NOW + dt.timedelta(minutes=5)


@pytest.fixture
def inspector() -> User:
    return make_user(Role.INSPECTOR)


def judged(by: User, *, size_label: str = "24") -> Piece:
    """A piece in tolerance by the size it carries."""
    piece = make_piece(size_label=size_label, colour="black")
    sitting = make_inspection(piece)
    measure_all(sitting)
    assert finish_inspection(inspection=sitting, by=by, at=NOW).shelf == "in"
    return piece


def correct(piece: Piece, by: User, **said: str) -> Corrected:
    values = {"size_label": piece.size_label, "colour": piece.colour, "reason": "typed wrong"} | said
    return correct_piece(piece=piece, by=by, at=LATER, **values)


@pytest.mark.parametrize("role", [Role.OWNER, Role.INSPECTOR])
def test_size_and_colour_are_corrected_with_a_reason_that_is_kept(role: Role) -> None:
    by = make_user(role)
    piece = make_piece(size_label="24", colour="black")
    corrected = correct(piece, by, size_label="26", colour=" ivory ")
    stored = Piece.objects.get()
    assert (stored.size_label, stored.colour) == ("26", "ivory")
    assert (corrected.verdict, corrected.put_on_hold) == (None, False)
    row = AuditRow.objects.get(deed="correct piece")
    assert (row.who, row.at, row.subject_id) == (by, LATER, piece.pk)
    assert row.detail == {
        "reason": "typed wrong",
        "size_label": ["24", "26"],
        "colour": ["black", "ivory"],
    }


def test_judging_old_readings_anew_does_not_stand_for_measuring_after_a_rework(inspector: User) -> None:
    piece = judged(inspector)
    after = NOW + dt.timedelta(minutes=1)
    decide_disposition(
        piece=piece, decision="rework", by=make_user(Role.OWNER), at=after, reason="move the hook"
    )
    correct(piece, inspector, size_label="26")
    corrected = correct(piece, inspector, size_label="24")
    assert corrected.verdict is not None
    assert (corrected.verdict.shelf, corrected.verdict.judged_at > after) == ("in", True)
    with pytest.raises(DispositionRefused, match="was not measured again after its rework"):
        decide_disposition(piece=corrected.piece, decision="release", by=inspector, at=LATER)


def test_a_viewer_may_not_correct(inspector: User) -> None:
    piece = make_piece(size_label="24")
    with pytest.raises(NotAllowed):
        correct(piece, make_user(Role.VIEWER), size_label="26")
    assert Piece.objects.get().size_label == "24"


def test_a_judged_piece_is_judged_again_by_its_right_size_and_the_old_verdict_is_kept(
    inspector: User,
) -> None:
    piece = judged(inspector)
    corrected = correct(piece, inspector, size_label="26")
    assert corrected.verdict is not None
    old, new = PieceVerdict.objects.order_by("pk")
    assert (old.shelf, old.basis.size_label, old.is_current) == ("in", "24", False)
    assert (new.shelf, new.basis.size_label, new.is_current) == ("out", "26", True)
    assert (new.size_suspected, new.fits_size) == (True, "24")
    assert new.inspection_id == old.inspection_id


def test_a_colour_alone_judges_nothing_again(inspector: User) -> None:
    piece = judged(inspector)
    assert correct(piece, inspector, colour="red").verdict is None
    assert PieceVerdict.objects.count() == 1


def test_a_released_piece_that_is_out_by_its_right_size_goes_back_on_hold(inspector: User) -> None:
    piece = judged(inspector)
    decide_disposition(piece=piece, decision=Standing.RELEASE, by=inspector, at=NOW)
    assert correct(piece, inspector, size_label="26").put_on_hold
    assert Piece.objects.get().standing == Standing.HOLD
    latest = Disposition.objects.latest("pk")
    assert latest.reason == "Size corrected from 24 to 26: typed wrong"


def test_a_released_piece_stays_released_when_only_its_colour_was_wrong(inspector: User) -> None:
    piece = judged(inspector)
    decide_disposition(piece=piece, decision=Standing.RELEASE, by=inspector, at=NOW)
    assert not correct(piece, inspector, colour="red").put_on_hold
    assert Piece.objects.get().standing == Standing.RELEASE


@pytest.mark.parametrize(
    ("said", "sentence"),
    [
        ({"size_label": "99"}, r"Size '99' is not in spec .*, which has 22, 24, 26"),
        ({"size_label": "26", "reason": "  "}, "needs a reason"),
        ({"size_label": "26", "reason": "x" * 201}, "201 characters"),
        ({"colour": "x" * 41}, "longer than 40 characters"),
        ({}, "has size 24 and colour black already"),
    ],
)
def test_what_cannot_be_corrected_is_refused_and_nothing_changes(
    inspector: User, said: dict[str, str], sentence: str
) -> None:
    piece = judged(inspector)
    with pytest.raises(CannotCorrectPiece, match=sentence):
        correct(piece, inspector, **said)
    assert (Piece.objects.get().size_label, Piece.objects.get().colour) == ("24", "black")
    assert not AuditRow.objects.filter(deed="correct piece").exists()
