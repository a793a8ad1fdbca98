"""A reading error holds from the moment it is taken from a study or stated; the old one stays."""

from __future__ import annotations

import json

import pytest

from inventory.access import NotAllowed
from inventory.models import AuditRow, MeasurePoint, PieceVerdict, PointError, Study
from inventory.models.people import Role
from inventory.queries.own.study_results import results_of
from inventory.queries.plans import plans_of
from inventory.services.judging import judge_inspection
from inventory.services.point_errors import ErrorNotPossible, StudySaysNothing, state_error, use_study
from inventory.services.studies import finish_study
from tests.factories import (
    MM,
    NOW,
    make_batch,
    make_inspection,
    make_instrument,
    make_piece,
    make_study,
    make_user,
    measure_all,
)
from tests.study_readings import read_study

pytestmark = pytest.mark.django_db


def finished() -> Study:
    return finish_study(study=read_study(make_study(pieces=6)), by=make_user(Role.OWNER), at=NOW)


def waist_of(study: Study) -> MeasurePoint:
    return MeasurePoint.objects.select_related("known_error").get(style=study.style, code="WA")


def test_what_was_found_is_what_is_judged_by_from_now_on() -> None:
    study = finished()
    (error,) = use_study(study=study, codes=["WA"], by=make_user(Role.OWNER), at=NOW)
    found = results_of(study)[0].chosen
    assert found is not None
    assert waist_of(study).as_reading_error() == found.error
    assert error.effective_at == NOW
    batch = study.style.batches.select_related("style").get()
    assert plans_of(batch).for_size("24")["WA"].error.repeat_sd_nm == found.error.repeat_sd_nm
    assert plans_of(batch).for_size("24")["CF"].error.repeat_dof is None


def test_the_analysis_the_budget_and_what_stood_before_are_kept_as_plain_json() -> None:
    make_instrument(stated_u_nm=400_000)
    study = finished()
    (error,) = use_study(study=study, codes=["WA"], by=make_user(Role.OWNER), at=NOW)
    error.refresh_from_db()
    kept = json.loads(json.dumps(error.document, allow_nan=False))
    assert kept["before"]["source"] == "planning value"
    assert kept["before"]["repeat_sd_nm"] == waist_of(study).same_person_sd_nm
    assert len(kept["analysis"]["pieces"]) == 12
    names = [part[0] for part in kept["budget"]["parts"]]
    assert names[:3] == ["repeat", "division", "person"]
    assert kept["budget"]["parts"][0][1] == error.repeat_sd_nm
    assert AuditRow.objects.get(deed="set reading error").detail["source"] == f"study {study.label}"


def test_verdicts_given_before_stay_as_they_were() -> None:
    batch, owner = make_batch(), make_user(Role.OWNER)
    sitting = make_inspection(make_piece(batch), finished_at=NOW)
    measure_all(sitting)
    judge_inspection(inspection=sitting, by=sitting.opened_by, at=NOW)
    before = list(PieceVerdict.objects.values())
    study = read_study(make_study(batch, pieces=6))
    use_study(study=finish_study(study=study, by=owner, at=NOW), codes=["WA", "CF"], by=owner, at=NOW)
    assert list(PieceVerdict.objects.values()) == before


def test_a_study_that_is_not_finished_is_not_used() -> None:
    study = read_study(make_study(pieces=6))
    with pytest.raises(StudySaysNothing, match="is running"):
        use_study(study=study, codes=["WA"], by=make_user(Role.OWNER), at=NOW)
    assert not PointError.objects.exists()


@pytest.mark.parametrize(
    ("codes", "said"),
    [([], "No point is chosen"), (["WA", "XX"], "says nothing of XX")],
)
def test_a_choice_that_cannot_be_used_stores_nothing(codes: list[str], said: str) -> None:
    study = finished()
    with pytest.raises(StudySaysNothing, match=said):
        use_study(study=study, codes=codes, by=make_user(Role.OWNER), at=NOW)
    assert not PointError.objects.exists()
    assert waist_of(study).known_error is None


def test_the_same_study_is_not_used_twice_for_a_point() -> None:
    study, owner = finished(), make_user(Role.OWNER)
    use_study(study=study, codes=["WA"], by=owner, at=NOW)
    with pytest.raises(StudySaysNothing, match="WA is judged by S"):
        use_study(study=study, codes=["WA"], by=owner, at=NOW)


def test_the_owner_may_state_an_error_with_a_reason_and_the_old_one_stays_in_the_record() -> None:
    study, owner = finished(), make_user(Role.OWNER)
    use_study(study=study, codes=["WA"], by=owner, at=NOW)
    stated = state_error(
        point=waist_of(study),
        repeat_sd_nm=MM,
        person_sd_nm=2 * MM,
        fixed_sd_nm=MM // 2,
        reason="new table",
        by=owner,
        at=NOW,
    )
    assert stated.document["before"]["source"] == f"study {study.label}"
    error = waist_of(study).as_reading_error()
    assert (error.repeat_sd_nm, error.person_sd_nm, error.fixed_sd_nm) == (MM, 2 * MM, MM // 2)
    assert PointError.objects.count() == 2


@pytest.mark.parametrize(
    ("figures", "field"),
    [
        ({"repeat_sd_nm": 0}, "repeat_sd_nm"),
        ({"person_sd_nm": -1}, "person_sd_nm"),
        ({"fixed_sd_nm": -1}, "fixed_sd_nm"),
        ({"reason": " "}, "reason"),
    ],
)
def test_a_stated_error_that_cannot_be_is_refused_at_its_box(figures: dict[str, object], field: str) -> None:
    point = make_batch().style.points.get(code="WA")
    said = {"repeat_sd_nm": MM, "person_sd_nm": 0, "fixed_sd_nm": 0, "reason": "because"} | figures
    with pytest.raises(ErrorNotPossible) as caught:
        state_error(point=point, by=make_user(Role.OWNER), at=NOW, **said)  # type: ignore[arg-type]  # a test's own
    assert caught.value.field == field
    assert not PointError.objects.exists()


@pytest.mark.parametrize("role", [Role.INSPECTOR, Role.VIEWER])
def test_only_the_owner_decides(role: str) -> None:
    study, person = finished(), make_user(role)
    with pytest.raises(NotAllowed):
        use_study(study=study, codes=["WA"], by=person, at=NOW)
    with pytest.raises(NotAllowed):
        state_error(
            point=waist_of(study),
            repeat_sd_nm=MM,
            person_sd_nm=0,
            fixed_sd_nm=0,
            reason="x",
            by=person,
            at=NOW,
        )
