import pytest

from inventory.access import NotAllowed
from inventory.models import AuditRow, MeasurePoint, Spec, SpecCell, Style
from inventory.models.people import Role
from inventory.models.specs import SpecIsFrozen
from inventory.queries.plans import plans_of_spec
from inventory.queries.specs import sheet_of
from inventory.services.spec_entries import CellEntry, PointEntry
from inventory.services.spec_sizes import SizeRunWrong
from inventory.services.specs import (
    DraftIsNamedByBatch,
    DraftWaiting,
    RevisionNeedsReason,
    SpecIncomplete,
    discard_draft,
    draft_spec,
    put_spec_in_force,
    revise_spec,
)
from inventory.services.styles import start_style
from tests.factories import MM, NOW, make_batch, make_spec, make_style, make_user

pytestmark = pytest.mark.django_db


def _style() -> Style:
    return start_style(
        code="elm",
        name="Elm",
        family="laced_underbust",
        point_codes=["UB", "WA", "BU"],
        by=make_user(Role.OWNER),
        at=NOW,
    )


def _base(nominal: str, step: str = "", **fields: str) -> PointEntry:
    return PointEntry(step=step, cells={"24": CellEntry(nominal=nominal)}, **fields)


def _draft(style: Style, entries: dict[str, PointEntry], **changed: object) -> Spec:
    values: dict[str, object] = {
        "style": style,
        "unit_of_record": "mm",
        "size_labels": ["22", "24", "26"],
        "base_size": "24",
        "by": make_user(Role.OWNER),
        "at": NOW,
    }
    return draft_spec(entries=entries, **values | changed)  # type: ignore[arg-type]  # a test's own mix


def test_a_first_draft_is_graded_from_the_base_size_with_the_catalogues_tolerances() -> None:
    style = _style()
    spec = _draft(
        style, {"UB": _base("380", "25"), "WA": _base("330", "25", minus="3"), "BU": _base("300", "0")}
    )
    assert (spec.revision, spec.state, spec.base_size) == (1, Spec.State.DRAFT, "24")
    waist = sheet_of(spec).row_of("WA")
    assert waist is not None
    assert [cell and cell.nominal_nm / MM for cell in waist.cells] == [305, 330, 355]
    assert waist.common_tolerance == (3 * MM, 6 * MM)
    assert waist.spec_point is not None
    assert (waist.spec_point.basis, waist.spec_point.asymmetry_limit_nm) == ("half", 6 * MM)
    busk = sheet_of(spec).row_of("BU")
    assert busk is not None
    assert busk.spec_point is not None
    assert busk.spec_point.asymmetry_limit_nm is None
    assert not sheet_of(spec).missing


def test_an_inch_spec_is_typed_and_graded_in_inches_exactly() -> None:
    spec = _draft(_style(), {"WA": _base("13 1/2", "1", minus="1/4", plus="1/4")}, unit_of_record="in")
    waist = sheet_of(spec).row_of("WA")
    assert waist is not None
    assert [cell and cell.nominal_nm for cell in waist.cells] == [317_500_000, 342_900_000, 368_300_000]
    assert waist.common_tolerance == (6_350_000, 6_350_000)


def test_points_left_out_stay_empty_and_are_missing() -> None:
    spec = _draft(_style(), {"WA": _base("330", "25"), "UB": _base("380")})
    assert sheet_of(spec).missing == {"UB": ("22", "26"), "BU": ("22", "24", "26")}


def test_a_wrong_run_leaves_nothing_behind() -> None:
    with pytest.raises(SizeRunWrong):
        _draft(_style(), {}, base_size="99")
    assert not Spec.objects.exists()


def test_a_style_has_one_draft_at_a_time() -> None:
    style = _style()
    first = _draft(style, {})
    with pytest.raises(DraftWaiting, match="has a draft already: revision 1") as refusal:
        _draft(style, {})
    assert refusal.value.draft == first


def test_putting_in_force_freezes_and_supersedes() -> None:
    old = make_spec()
    owner = make_user(Role.OWNER)
    draft = revise_spec(spec=old, reason="waist 3 mm over", by=owner, at=NOW)
    put_spec_in_force(spec=draft, by=owner, at=NOW)
    old.refresh_from_db()
    draft.refresh_from_db()
    assert (old.state, old.superseded_at) == (Spec.State.SUPERSEDED, NOW)
    assert (draft.state, draft.in_force_at, draft.revision) == (Spec.State.IN_FORCE, NOW, 2)
    assert AuditRow.objects.get(deed="put spec in force").detail == {"supersedes": 1}
    assert AuditRow.objects.get(deed="supersede spec").subject_id == old.pk
    with pytest.raises(SpecIsFrozen):
        put_spec_in_force(spec=draft, by=owner, at=NOW)


def test_a_batch_stays_with_the_revision_it_was_ordered_by() -> None:
    batch = make_batch()
    owner = make_user(Role.OWNER)
    put_spec_in_force(spec=revise_spec(spec=batch.spec, reason="tighter", by=owner, at=NOW), by=owner, at=NOW)
    batch.refresh_from_db()
    assert batch.spec.revision == 1


def test_an_incomplete_draft_names_what_it_lacks() -> None:
    spec = make_spec(state=Spec.State.DRAFT)
    SpecCell.objects.filter(spec_point__point__code="WA", size__label="24").delete()
    SpecCell.objects.filter(spec_point__point__code="CF").delete()
    with pytest.raises(SpecIncomplete, match=r"lacks figures: WA in 24; CF in all sizes\. Fill") as refusal:
        put_spec_in_force(spec=spec, by=make_user(Role.OWNER), at=NOW)
    assert refusal.value.missing == {"WA": ("24",), "CF": ("22", "24", "26")}
    spec.refresh_from_db()
    assert spec.state == Spec.State.DRAFT


def test_a_point_added_to_the_style_must_be_filled_in_before() -> None:
    spec = make_spec(state=Spec.State.DRAFT)
    waist = spec.style.points.get(code="WA")
    waist.pk, waist.code = None, "HH"
    waist._state.adding = True
    waist.save()
    with pytest.raises(SpecIncomplete, match="HH in all sizes"):
        put_spec_in_force(spec=spec, by=make_user(Role.OWNER), at=NOW)


def test_a_retired_point_is_not_asked_for() -> None:
    spec = make_spec(state=Spec.State.DRAFT)
    SpecCell.objects.filter(spec_point__point__code="CF").delete()
    MeasurePoint.objects.filter(style=spec.style, code="CF").update(is_active=False)
    assert put_spec_in_force(spec=spec, by=make_user(Role.OWNER), at=NOW).state == Spec.State.IN_FORCE


def test_a_point_retired_while_the_draft_waited_is_not_agreed_on() -> None:
    spec = make_spec(state=Spec.State.DRAFT)
    MeasurePoint.objects.filter(style=spec.style, code="CF").update(is_active=False)
    agreed = put_spec_in_force(spec=spec, by=make_user(Role.OWNER), at=NOW)
    assert list(plans_of_spec(agreed).points) == ["UB", "WA"]


def test_a_draft_that_contradicts_its_points_is_not_put_in_force() -> None:
    spec = make_spec(state=Spec.State.DRAFT)
    MeasurePoint.objects.filter(style=spec.style, code="WA").update(sides="single")
    with pytest.raises(SpecIncomplete, match="Left-right limit of WA is set on a single point"):
        put_spec_in_force(spec=spec, by=make_user(Role.OWNER), at=NOW)


def test_a_spec_without_sizes_is_not_put_in_force() -> None:
    spec = make_spec(state=Spec.State.DRAFT)
    spec.sizes.all().delete()
    with pytest.raises(SpecIncomplete, match="has no sizes"):
        put_spec_in_force(spec=spec, by=make_user(Role.OWNER), at=NOW)


def test_a_revision_copies_everything_but_retired_points() -> None:
    spec = make_spec()
    MeasurePoint.objects.filter(style=spec.style, code="CF").update(is_active=False)
    draft = revise_spec(spec=spec, reason="tighter waist", by=make_user(Role.OWNER), at=NOW)
    before, after = sheet_of(spec), sheet_of(draft)
    assert after.sizes == before.sizes
    assert [row.point.code for row in after.rows] == ["UB", "WA"]
    assert [row.cells for row in after.rows] == [row.cells for row in before.rows[:2]]
    assert (draft.revision, draft.reason, draft.base_size) == (2, "tighter waist", spec.base_size)


def test_a_revision_without_a_reason_is_refused() -> None:
    with pytest.raises(RevisionNeedsReason, match="Say why"):
        revise_spec(spec=make_spec(), reason="  ", by=make_user(Role.OWNER), at=NOW)


def test_a_discarded_draft_gives_its_number_back() -> None:
    owner, spec = make_user(Role.OWNER), make_spec()
    draft = revise_spec(spec=spec, reason="tighter", by=owner, at=NOW)
    discard_draft(spec=draft, by=owner, at=NOW)
    assert list(Spec.objects.all()) == [spec]
    assert AuditRow.objects.get(deed="discard draft").subject_label.endswith("rev 2")
    assert revise_spec(spec=spec, reason="again", by=owner, at=NOW).revision == 2


def test_a_frozen_spec_cannot_be_discarded() -> None:
    with pytest.raises(SpecIsFrozen):
        discard_draft(spec=make_spec(), by=make_user(Role.OWNER), at=NOW)


def test_a_draft_a_batch_names_cannot_be_discarded() -> None:
    spec = make_spec(state=Spec.State.DRAFT)
    make_batch(spec)
    with pytest.raises(DraftIsNamedByBatch, match="named by a batch"):
        discard_draft(spec=spec, by=make_user(Role.OWNER), at=NOW)
    assert not AuditRow.objects.exists()


@pytest.mark.parametrize("role", [Role.INSPECTOR, Role.VIEWER])
def test_only_the_owner_works_on_specs(role: str) -> None:
    person, spec, style = make_user(role), make_spec(), make_style()
    for attempt in (
        lambda: _draft(style, {}, by=person),
        lambda: revise_spec(spec=spec, reason="mine", by=person, at=NOW),
        lambda: put_spec_in_force(spec=spec, by=person, at=NOW),
        lambda: discard_draft(spec=spec, by=person, at=NOW),
    ):
        with pytest.raises(NotAllowed):
            attempt()
