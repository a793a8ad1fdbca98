"""Studies are planned whole or not at all, ended once, and given up with a reason."""

from __future__ import annotations

import pytest

from inventory.access import NotAllowed
from inventory.calc.errors import ImpossibleInput
from inventory.calc.gauge_study import make_plan
from inventory.models import AuditRow, Batch, Study, StudyTurn, User
from inventory.models.people import Role
from inventory.services.refusals import Refused
from inventory.services.studies import (
    StudyIsOver,
    StudyNotPossible,
    StudyNotReady,
    finish_study,
    give_up_study,
    plan_study,
)
from tests.factories import NOW, make_batch, make_piece, make_study, make_user
from tests.study_readings import read_study

pytestmark = pytest.mark.django_db


def planned(batch: Batch | None = None, *, by: User | None = None, **other: object) -> Study:
    batch = batch or make_batch()
    asked = {
        "style": batch.style,
        "pieces": [make_piece(batch) for _ in range(5)],
        "people": [make_user(), make_user()],
        "points": list(batch.style.points.filter(code__in=("WA", "CF"))),
        "rounds": 2,
        "seed": 7,
        "unit": "mm",
        "by": by or make_user(Role.OWNER),
        "at": NOW,
    }
    return plan_study(**asked | other)  # type: ignore[arg-type]  # a test's own fields


def test_the_turns_follow_the_seed_and_each_person_walks_through_all() -> None:
    study = planned()
    plan = make_plan(pieces=5, people=2, rounds=2, seed=7)
    for person in (1, 2):
        stored = StudyTurn.objects.filter(study=study, study_person__position=person).order_by("order")
        assert [(turn.round, turn.study_piece.position) for turn in stored] == [
            (turn.round, turn.piece) for turn in plan.turns if turn.person == person
        ]
        assert [turn.order for turn in stored] == list(range(1, 11))
    assert AuditRow.objects.get(deed="plan study").detail["seed"] == 7


def test_studies_are_numbered_one_after_another() -> None:
    first = planned()
    assert planned().number == first.number + 1
    assert first.label == f"S{first.number:03d}"


@pytest.mark.parametrize(
    ("other", "said"),
    [
        ({"rounds": 1}, "without a repeat nobody's own spread is seen"),
        ({"people": []}, "one person cannot show how far people differ"),
        ({"pieces": []}, "Take at least 5, better 10"),
        ({"seed": -1}, "Seed is -1"),
        ({"rounds": 99}, "readings"),
    ],
)
def test_a_study_too_small_or_too_large_is_refused_and_nothing_is_stored(
    other: dict[str, object], said: str
) -> None:
    with pytest.raises((ImpossibleInput, StudyNotPossible), match=said):
        planned(**other)  # type: ignore[arg-type]  # a test's own fields
    assert not Study.objects.exists()
    assert not AuditRow.objects.filter(deed="plan study").exists()


def test_one_person_is_refused() -> None:
    with pytest.raises(ImpossibleInput, match="one person cannot show"):
        planned(people=[make_user()])


def test_pieces_of_another_style_are_named() -> None:
    batch = make_batch()
    stranger = make_piece(make_batch())
    pieces = [*(make_piece(batch) for _ in range(5)), stranger]
    with pytest.raises(StudyNotPossible, match=f"{stranger.label} is of another style") as caught:
        planned(batch, pieces=pieces)
    assert caught.value.field == "labels"


def test_points_of_another_style_and_no_point_are_refused() -> None:
    other = make_batch().style.points.get(code="WA")
    with pytest.raises(StudyNotPossible, match="Point WA is not of style"):
        planned(points=[other])
    with pytest.raises(StudyNotPossible, match="No point is picked"):
        planned(points=[])


def test_a_viewer_cannot_be_asked_to_read() -> None:
    viewer = make_user(Role.VIEWER)
    with pytest.raises(StudyNotPossible, match="may not record readings"):
        planned(people=[make_user(), viewer])


def test_the_same_person_twice_is_refused() -> None:
    person = make_user()
    with pytest.raises(StudyNotPossible, match="The same person is named twice"):
        planned(people=[person, person])


def test_thirteen_pieces_are_too_many() -> None:
    batch = make_batch()
    with pytest.raises(StudyNotPossible, match="13 pieces"):
        planned(batch, pieces=[make_piece(batch) for _ in range(13)])


@pytest.mark.parametrize("role", [Role.INSPECTOR, Role.VIEWER])
def test_only_the_owner_plans_ends_and_gives_up(role: str) -> None:
    person = make_user(role)
    with pytest.raises(NotAllowed):
        planned(by=person)
    study = read_study(make_study(pieces=5))
    with pytest.raises(NotAllowed):
        finish_study(study=study, by=person, at=NOW)
    with pytest.raises(NotAllowed):
        give_up_study(study=study, reason="no", by=person, at=NOW)


def test_a_study_read_in_full_is_finished_and_closed() -> None:
    owner, study = make_user(Role.OWNER), read_study(make_study(pieces=5))
    ended = finish_study(study=study, by=owner, at=NOW)
    assert (ended.state, ended.ended_at) == (Study.State.FINISHED, NOW)
    with pytest.raises(StudyIsOver, match="is finished already"):
        finish_study(study=study, by=owner, at=NOW)
    with pytest.raises(StudyIsOver):
        give_up_study(study=study, reason="late", by=owner, at=NOW)


def test_a_study_with_too_many_holes_is_not_finished_and_says_what_is_missing() -> None:
    study = read_study(make_study(pieces=5), but=3)
    with pytest.raises(StudyNotReady, match=r"missing: piece P\d{6}.* in round 2"):
        finish_study(study=study, by=make_user(Role.OWNER), at=NOW)
    study.refresh_from_db()
    assert study.state == Study.State.RUNNING


def test_a_study_nobody_has_read_is_not_finished() -> None:
    with pytest.raises(StudyNotReady, match="cannot be finished yet"):
        finish_study(study=make_study(pieces=5), by=make_user(Role.OWNER), at=NOW)


def test_a_study_is_given_up_with_a_reason_only() -> None:
    owner, study = make_user(Role.OWNER), make_study(pieces=5)
    with pytest.raises(Refused, match="Say why") as caught:
        give_up_study(study=study, reason="  ", by=owner, at=NOW)
    assert caught.value.field == "reason"
    ended = give_up_study(study=study, reason="tape changed", by=owner, at=NOW)
    assert (ended.state, ended.note) == (Study.State.ABANDONED, "Given up: tape changed")
    assert AuditRow.objects.get(deed="give up study").detail == {"reason": "tape changed"}
