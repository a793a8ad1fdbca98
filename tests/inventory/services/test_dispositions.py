"""What is done with pieces: who may decide, what has to be said, all or nothing."""

from __future__ import annotations

import datetime as dt
from typing import TYPE_CHECKING

import pytest

from inventory.access import NotAllowed
from inventory.models import AuditRow, Disposition, Piece
from inventory.models.pieces import Standing
from inventory.services.disposition_rules import DispositionRefused
from inventory.services.dispositions import decide_disposition, decide_dispositions
from inventory.services.inspections import finish_inspection
from tests import factories
from tests.factories import NOW

if TYPE_CHECKING:
    from pytest_django import DjangoAssertNumQueries

    from inventory.models import User

pytestmark = pytest.mark.django_db

TOMORROW = NOW.date() + dt.timedelta(days=1)
LATER = NOW + dt.timedelta(hours=1)
COMPLETE: dict[str, dict[str, object]] = {
    "hold": {},
    "release": {},
    "concession": {"agreed_with": "the owner of the workshop", "ends_on": TOMORROW},
    "second": {"reason": "left front 8 mm short"},
    "relabel": {"new_size_label": "26"},
    "rework": {"reason": "move the hook"},
    "return": {"reason": "waist 20 mm over"},
    "scrap": {"reason": "mould"},
}

LIKE_SIZE_26 = {(code, side): off for code, off in (("UB", 25), ("WA", 25), ("CF", 5)) for side in "LR"}


@pytest.fixture
def owner() -> User:
    return factories.make_user("owner")


@pytest.fixture
def inspector() -> User:
    return factories.make_user("inspector")


def _decide(piece: Piece, decision: str, by: User, **said: object) -> Disposition:
    return decide_disposition(piece=piece, decision=decision, by=by, **{"at": NOW} | said)  # type: ignore[arg-type]


def _good_piece(**fields: object) -> Piece:
    piece = factories.make_piece(**fields)  # type: ignore[arg-type]  # fields of the factory
    factories.make_verdict(piece, shelf="in")
    return piece


@pytest.mark.parametrize("decision", Standing.values)
def test_the_owner_decides_anything_and_the_piece_moves_there(decision: str, owner: User) -> None:
    piece = _good_piece()
    made = _decide(piece, decision, owner, **COMPLETE[decision])
    piece.refresh_from_db()
    assert piece.standing == made.decision == decision
    row = AuditRow.objects.get(subject_type="piece", subject_id=piece.pk)
    assert (row.who, row.detail["before"], row.deed.split()[0]) == (owner, "hold", "decide")


@pytest.mark.parametrize("decision", sorted(set(Standing.values) - {"hold", "release"}))
def test_an_inspector_may_only_release_and_hold(decision: str, inspector: User) -> None:
    piece = _good_piece()
    with pytest.raises(NotAllowed, match="you may not decide concessions"):
        _decide(piece, decision, inspector, **COMPLETE[decision])
    assert not Disposition.objects.exists()


@pytest.mark.parametrize("decision", Standing.values)
def test_a_viewer_decides_nothing(decision: str) -> None:
    with pytest.raises(NotAllowed):
        _decide(_good_piece(), decision, factories.make_user("viewer"), **COMPLETE[decision])


def test_an_inspector_releases_a_piece_in_tolerance(inspector: User) -> None:
    piece = _good_piece()
    _decide(piece, "release", inspector)
    assert piece.standing == "release"


def test_an_inspector_holds_a_released_piece(inspector: User) -> None:
    piece = _good_piece(standing="release")
    _decide(piece, "hold", inspector)
    assert piece.standing == "hold"


@pytest.mark.parametrize(
    ("shelf", "why"),
    [
        ("out", "is out of tolerance"),
        ("close", "is too close to call"),
        (None, "is not judged yet"),
    ],
)
def test_a_piece_that_is_not_in_tolerance_is_released_by_the_owner_with_a_reason_only(
    shelf: str | None, why: str, owner: User, inspector: User
) -> None:
    piece = factories.make_piece()
    if shelf:
        factories.make_verdict(piece, shelf=shelf)
    with pytest.raises(DispositionRefused, match=f"{piece.label} {why}: only the owner"):
        _decide(piece, "release", inspector, reason="looks fine")
    with pytest.raises(DispositionRefused, match=f"{piece.label} {why}: say why"):
        _decide(piece, "release", owner)
    piece.refresh_from_db()
    assert piece.standing == "hold"
    _decide(piece, "release", owner, reason="sample for the shop window")
    assert piece.standing == "release"


def test_only_the_current_verdict_counts(inspector: User) -> None:
    piece = factories.make_piece()
    factories.make_verdict(piece, shelf="in")
    factories.make_verdict(piece, shelf="out")
    with pytest.raises(DispositionRefused, match="is out of tolerance"):
        _decide(piece, "release", inspector)


@pytest.mark.parametrize("severity", ["critical", "major"])
def test_a_grave_defect_keeps_a_piece_in_tolerance_on_hold(severity: str, inspector: User) -> None:
    piece = _good_piece()
    factories.make_defect(piece, kind="burr on the busk", severity=severity)
    with pytest.raises(DispositionRefused, match=r"has a defect: burr on the busk \(" + severity):
        _decide(piece, "release", inspector)


def test_a_minor_defect_does_not_keep_a_piece_on_hold(inspector: User) -> None:
    piece = _good_piece()
    factories.make_defect(piece, severity="minor")
    _decide(piece, "release", inspector)
    assert piece.standing == "release"


def test_a_reworked_piece_is_measured_again_before_its_release(owner: User, inspector: User) -> None:
    piece = _good_piece()
    _decide(piece, "rework", owner, reason="move the hook", at=LATER)
    with pytest.raises(DispositionRefused, match="was not measured again after its rework"):
        _decide(piece, "release", inspector, at=LATER)
    factories.make_verdict(piece, shelf="in", judged_at=LATER + dt.timedelta(hours=1))
    _decide(piece, "release", inspector, at=LATER + dt.timedelta(hours=2))
    assert piece.standing == "release"


@pytest.mark.parametrize("standing", ["second", "concession", "relabel", "return", "scrap"])
def test_an_inspector_does_not_release_what_the_owner_decided_otherwise(
    standing: str, inspector: User
) -> None:
    with pytest.raises(NotAllowed):
        _decide(_good_piece(standing=standing), "release", inspector)


@pytest.mark.parametrize("standing", ["return", "scrap"])
def test_an_inspector_does_not_hold_what_has_left(standing: str, inspector: User) -> None:
    with pytest.raises(NotAllowed):
        _decide(_good_piece(standing=standing), "hold", inspector)


def test_a_released_piece_is_not_released_again(owner: User) -> None:
    with pytest.raises(DispositionRefused, match="is released already"):
        _decide(_good_piece(standing="release"), "release", owner)


@pytest.mark.parametrize(
    ("decision", "missing"),
    [
        ("concession", "agreed_with"),
        ("concession", "ends_on"),
        ("second", "reason"),
        ("relabel", "new_size_label"),
        ("rework", "reason"),
        ("return", "reason"),
        ("scrap", "reason"),
    ],
)
def test_what_must_be_recorded_is_asked_for_at_its_own_box(decision: str, missing: str, owner: User) -> None:
    said = {name: value for name, value in COMPLETE[decision].items() if name != missing}
    with pytest.raises(DispositionRefused) as caught:
        _decide(_good_piece(), decision, owner, **said)
    assert caught.value.field == missing
    assert not Disposition.objects.exists()


@pytest.mark.parametrize(
    ("decision", "extra"),
    [
        ("scrap", {"agreed_with": "nobody"}),
        ("scrap", {"ends_on": TOMORROW}),
        ("scrap", {"new_size_label": "26"}),
    ],
)
def test_what_has_no_place_in_a_decision_is_refused_at_its_own_box(
    decision: str, extra: dict[str, object], owner: User
) -> None:
    with pytest.raises(DispositionRefused) as caught:
        _decide(_good_piece(), decision, owner, **COMPLETE[decision] | extra)
    assert caught.value.field == next(iter(extra))


def test_a_concession_ends_in_the_future(owner: User) -> None:
    with pytest.raises(DispositionRefused, match="2026-03-02, is not in the future"):
        _decide(_good_piece(), "concession", owner, agreed_with="the maker", ends_on=NOW.date())


def test_a_hold_may_name_the_day_to_decide_by(inspector: User) -> None:
    assert _decide(factories.make_piece(), "hold", inspector, ends_on=TOMORROW).ends_on == TOMORROW


def test_a_relabel_names_another_size_of_the_spec(owner: User) -> None:
    piece = _good_piece(size_label="24")
    with pytest.raises(DispositionRefused, match=r"size '99' is not in spec .*, which has 22, 24, 26"):
        _decide(piece, "relabel", owner, new_size_label="99")
    with pytest.raises(DispositionRefused, match="carries size 24 already"):
        _decide(piece, "relabel", owner, new_size_label="24")


def test_a_piece_is_measured_by_the_size_it_was_relabelled_to_and_the_old_verdict_keeps_its_own(
    owner: User,
) -> None:
    piece = factories.make_piece(size_label="24")
    sitting = factories.make_inspection(piece)
    factories.measure_all(sitting, LIKE_SIZE_26)
    old = finish_inspection(inspection=sitting, by=owner, at=NOW)
    assert (old.shelf, old.fits_size) == ("out", "26")
    _decide(piece, "relabel", owner, new_size_label="26")
    assert piece.size_label == "26"
    again = factories.make_inspection(Piece.objects.get())
    factories.measure_all(again)
    new = finish_inspection(inspection=again, by=owner, at=LATER)
    old.refresh_from_db()
    assert [(v.shelf, v.basis.size_label, v.is_current) for v in (old, new)] == [
        ("out", "24", False),
        ("in", "26", True),
    ]
    detail = AuditRow.objects.get(deed="decide re-label").detail
    assert (detail["old_size"], detail["new_size"]) == ("24", "26")


def test_a_reason_too_long_for_its_place_is_refused(owner: User) -> None:
    with pytest.raises(DispositionRefused, match="301 characters are too many"):
        _decide(_good_piece(), "scrap", owner, reason="x" * 301)


def test_a_decision_nobody_knows_is_refused(owner: User) -> None:
    with pytest.raises(DispositionRefused, match=r"'burn' is no decision. Use one of: hold, release"):
        _decide(_good_piece(), "burn", owner)


def test_many_pieces_are_released_at_once(inspector: User) -> None:
    batch = factories.make_batch()
    pieces = [_good_piece(batch=batch) for _ in range(4)]
    decide_dispositions(pieces=pieces, decision="release", by=inspector, at=NOW)
    assert set(Piece.objects.values_list("standing", flat=True)) == {"release"}
    assert AuditRow.objects.filter(deed="decide release", subject_type="piece").count() == 4


def test_one_piece_that_is_not_in_tolerance_stops_the_release_of_all(inspector: User) -> None:
    batch = factories.make_batch()
    good = [_good_piece(batch=batch) for _ in range(3)]
    bad = factories.make_piece(batch)
    factories.make_verdict(bad, shelf="out")
    with pytest.raises(DispositionRefused, match=f"Nothing was decided. {bad.label} is out of tolerance"):
        decide_dispositions(pieces=[*good, bad], decision="release", by=inspector, at=NOW)
    assert set(Piece.objects.values_list("standing", flat=True)) == {"hold"}
    assert not Disposition.objects.exists()


def test_a_long_list_of_objections_is_cut_and_counted(inspector: User) -> None:
    batch = factories.make_batch()
    pieces = [factories.make_piece(batch) for _ in range(10)]
    with pytest.raises(DispositionRefused, match="; and 2 more"):
        decide_dispositions(pieces=pieces, decision="release", by=inspector, at=NOW)


def test_no_piece_is_nothing_to_decide(owner: User) -> None:
    with pytest.raises(DispositionRefused, match="No piece was chosen"):
        decide_dispositions(pieces=[], decision="release", by=owner, at=NOW)


def test_the_number_of_statements_does_not_grow_with_the_pieces(
    inspector: User, django_assert_num_queries: DjangoAssertNumQueries
) -> None:
    batch = factories.make_batch()
    for count in (2, 30):
        pieces = [_good_piece(batch=batch) for _ in range(count)]
        # savepoint 2, pieces, verdicts, rework, samples 2, defects, dispositions, standing, audit
        with django_assert_num_queries(11):
            decide_dispositions(pieces=pieces, decision="release", by=inspector, at=NOW)
