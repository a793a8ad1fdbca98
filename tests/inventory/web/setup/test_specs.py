import pytest
from django.urls import reverse

from inventory.models import AuditRow, MeasurePoint, Shop, Spec, SpecCell, SpecPoint, Style
from inventory.models.people import Role
from inventory.queries.specs import sheet_of
from inventory.services.specs import revise_spec
from inventory.services.styles import start_style
from tests.factories import MM, NOW, make_batch, make_spec, make_user
from tests.inventory.web.setup.cast import client_of, said

pytestmark = pytest.mark.django_db


def _draft() -> Spec:
    return make_spec(state=Spec.State.DRAFT)


def _row(code: str, *nominals: str, **boxes: str) -> dict[str, str]:
    """What the grid posts for one point."""
    typed = {"basis": "half", "minus": "6", "plus": "6", "step": "25", "pair_limit": "6"} | boxes
    row = {f"{code}.{column}": text for column, text in typed.items()}
    return row | {
        f"{code}.nominal:{size}": text for size, text in zip(("22", "24", "26"), nominals, strict=True)
    }


def _nominals(spec: Spec, code: str) -> list[float]:
    cells = SpecCell.objects.filter(spec_point__spec=spec, spec_point__point__code=code)
    return [cell.nominal_nm / MM for cell in cells.order_by("size__position")]


def _style() -> Style:
    owner = make_user(Role.OWNER)
    codes = ["UB", "WA"]
    return start_style(code="elm", name="Elm", family="laced_underbust", point_codes=codes, by=owner, at=NOW)


def test_a_first_spec_is_drafted_from_base_and_steps_in_inches() -> None:
    style = _style()
    boxes = {
        "unit_of_record": "in",
        "size_run": "22, 24, 26",
        "base_size": "24",
        "WA.base": "13 1/2",
        "WA.step": "1",
        "WA.minus": "1/4",
        "WA.plus": "1/4",
    }
    answer = client_of().post(reverse("spec-new", args=["elm"]), boxes, follow=True)
    spec = Spec.objects.get(style=style)
    assert answer.redirect_chain == [(reverse("spec-edit", args=[spec.pk]), 302)]
    assert _nominals(spec, "WA") == [317.5, 342.9, 368.3]
    page = said(answer)
    assert 'value="12 1/2"' in page
    assert 'value="1/4"' in page


def test_an_inch_shop_is_proposed_tolerances_and_left_right_limits_in_inches() -> None:
    style = _style()
    Shop.objects.update(display_unit="in", fraction_denominator=8)
    page = said(client_of().get(reverse("spec-new", args=["elm"])))
    assert 'value="1/4 in"' in page
    assert " mm" not in page
    boxes = {
        "unit_of_record": "in",
        "size_run": "22, 24",
        "base_size": "24",
        "WA.base": "13 1/2",
        "WA.step": "1",
    }
    client_of().post(reverse("spec-new", args=["elm"]), boxes)
    (judged,) = SpecPoint.objects.filter(spec__style=style, point__code="WA")
    assert judged.asymmetry_limit_nm == 6_350_000


def test_a_wrong_figure_of_a_first_draft_is_told_at_its_box_and_nothing_is_left() -> None:
    _style()
    boxes = {
        "unit_of_record": "mm",
        "size_run": "22 24",
        "base_size": "24",
        "WA.base": "33 0",
        "WA.step": "25",
    }
    page = said(client_of().post(reverse("spec-new", args=["elm"]), boxes))
    assert "33 0" in page
    assert 'id="start-1-base-error"' in page
    assert not Spec.objects.exists()


def test_a_wrong_run_is_told_at_its_box() -> None:
    _style()
    boxes = {"unit_of_record": "mm", "size_run": "22, 24", "base_size": "25"}
    page = said(client_of().post(reverse("spec-new", args=["elm"]), boxes))
    assert "is not in the run 22, 24" in page
    assert 'value="22, 24"' in page


def test_a_style_with_a_draft_leads_to_it() -> None:
    spec = _draft()
    answer = client_of().get(reverse("spec-new", args=[spec.style.code]))
    assert answer["Location"] == reverse("spec", args=[spec.pk])


def test_the_page_shows_figures_as_agreed_and_warns() -> None:
    spec = _draft()
    SpecCell.objects.filter(spec_point__point__code="WA").update(tolerance_minus_nm=13 * MM)
    SpecCell.objects.filter(spec_point__point__code="WA").update(tolerance_plus_nm=13 * MM)
    page = said(client_of(Role.VIEWER).get(reverse("spec", args=[spec.pk])))
    assert "Graded spec, in millimetres" in page
    assert "sizes 22 and 24 cross" in page
    assert "1 more of WA" in page


def test_an_inch_spec_is_shown_in_inches_whatever_the_shop_shows() -> None:
    spec = make_spec(state=Spec.State.DRAFT, unit_of_record="in")
    SpecCell.objects.filter(spec_point__point__code="WA", size__label="22").update(nominal_nm=342_900_000)
    page = said(client_of().get(reverse("spec", args=[spec.pk])))
    assert ">13 1/2<" in page
    assert "380 mm" in page  # not whole in inches: exact in its own unit rather than rounded


def test_the_grid_saves_whole_rows() -> None:
    spec = _draft()
    answer = client_of().post(reverse("spec-edit", args=[spec.pk]), _row("WA", "340", "36,5 cm", "390"))
    assert answer["Location"] == reverse("spec-edit", args=[spec.pk])
    assert _nominals(spec, "WA") == [340, 365, 390]
    assert _nominals(spec, "UB") == [380, 405, 430]


def test_a_wrong_figure_keeps_what_was_typed_in_every_box() -> None:
    spec = _draft()
    boxes = _row("WA", "34 0", "365", "390", minus="six") | _row("UB", "381", "406", "431")
    page = said(client_of().post(reverse("spec-edit", args=[spec.pk]), boxes))
    assert "Nothing was saved" in page
    for typed in ("34 0", "six", "381"):
        assert f'value="{typed}"' in page
    assert page.count('aria-invalid="true"') == 2
    assert _nominals(spec, "UB") == [380, 405, 430]


def test_empty_sizes_are_filled_from_the_steps_by_a_button() -> None:
    spec = _draft()
    boxes = _row("WA", "340", "", "400") | {"action": "fill"}
    client_of().post(reverse("spec-edit", args=[spec.pk]), boxes)
    assert _nominals(spec, "WA") == [340, 365, 400]
    boxes = _row("WA", "340", "1", "2") | {"action": "refill"}
    client_of().post(reverse("spec-edit", args=[spec.pk]), boxes)
    assert _nominals(spec, "WA") == [340, 365, 390]


def test_a_size_added_while_the_page_was_open_keeps_its_figures() -> None:
    spec = _draft()
    boxes = _row("WA", "340", "365", "390")
    del boxes["WA.nominal:26"]
    client_of().post(reverse("spec-edit", args=[spec.pk]), boxes)
    assert _nominals(spec, "WA") == [340, 365, 380]


def test_markup_in_a_size_label_stays_text() -> None:
    spec = make_spec(state=Spec.State.DRAFT, sizes=("<b>", '"&'))
    page = said(client_of().get(reverse("spec-edit", args=[spec.pk])))
    assert "<b>" not in page
    assert 'name="WA.nominal:&lt;b&gt;"' in page


def test_tolerances_are_set_size_by_size() -> None:
    spec = _draft()
    boxes: dict[str, str] = {}
    for row in sheet_of(spec).rows:
        for size in ("22", "24", "26"):
            boxes |= {f"{row.point.code}.minus:{size}": "5", f"{row.point.code}.plus:{size}": "7"}
    boxes["WA.plus:26"] = "9"
    assert client_of().post(reverse("spec-tolerances", args=[spec.pk]), boxes).status_code == 302
    waist = sheet_of(spec).row_of("WA")
    assert waist is not None
    assert [cell and cell.plus_nm // MM for cell in waist.cells] == [7, 7, 9]
    assert waist.spec_point is not None
    assert waist.spec_point.asymmetry_limit_nm == 6 * MM
    page = said(client_of().get(reverse("spec-edit", args=[spec.pk])))
    assert "by size" in page


def test_figures_are_not_thrown_away_without_a_tick() -> None:
    spec = _draft()
    boxes = {"unit_of_record": "mm", "size_run": "22, 24", "base_size": "22", "reason": ""}
    client = client_of()
    page = said(client.post(reverse("spec-frame", args=[spec.pk]), boxes))
    assert "Without 26 in the run" in page
    assert sheet_of(spec).sizes == ("22", "24", "26")
    client.post(reverse("spec-frame", args=[spec.pk]), boxes | {"drop_figures": "on"})
    assert sheet_of(spec).sizes == ("22", "24")


def test_putting_in_force_asks_first_and_freezes() -> None:
    old = make_spec()
    draft = revise_spec(spec=old, reason="tighter", by=make_user(Role.OWNER), at=NOW)
    client = client_of()
    page = said(client.get(reverse("spec-publish", args=[draft.pk])))
    assert "Freeze this revision and put it in force?" in page
    assert "What changes from revision 1" in page
    draft.refresh_from_db()
    assert draft.state == Spec.State.DRAFT
    page = said(client.post(reverse("spec-publish", args=[draft.pk]), follow=True))
    assert "is in force and frozen" in page
    page = said(client.get(reverse("spec-edit", args=[draft.pk]), follow=True))
    assert "frozen" in page


def test_a_spec_in_force_is_not_said_to_be_about_to_come_into_force() -> None:
    spec = _draft()
    SpecCell.objects.update(tolerance_minus_nm=3 * MM, tolerance_plus_nm=3 * MM)
    page = said(client_of().get(reverse("spec", args=[spec.pk])))
    assert "only within" in page
    assert "can be put in force all the same" in page
    Spec.objects.update(state=Spec.State.IN_FORCE, in_force_at=NOW)
    page = said(client_of().get(reverse("spec", args=[spec.pk])))
    assert "only within" in page
    assert "can be put in force" not in page
    assert "is in force and stays as it is" in page


def test_an_incomplete_draft_is_not_put_in_force_and_says_what_it_lacks() -> None:
    spec = _draft()
    SpecCell.objects.filter(spec_point__point__code="WA", size__label="24").delete()
    client = client_of()
    assert "<li>WA: 24</li>" in said(client.get(reverse("spec-publish", args=[spec.pk])))
    assert "lacks figures: WA in 24" in said(client.post(reverse("spec-publish", args=[spec.pk])))
    spec.refresh_from_db()
    assert spec.state == Spec.State.DRAFT


@pytest.mark.parametrize("name", ["spec-edit", "spec-tolerances", "spec-frame"])
def test_a_frozen_spec_cannot_be_edited_on_screen(name: str) -> None:
    spec = make_spec()
    page = said(client_of().post(reverse(name, args=[spec.pk]), _row("WA", "1", "2", "3"), follow=True))
    assert "Draft a new revision" in page
    assert _nominals(spec, "WA") == [330, 355, 380]


def test_revising_needs_a_reason_and_leads_to_the_grid() -> None:
    spec = make_spec()
    client = client_of()
    assert "needs another look" in said(client.post(reverse("spec-revise", args=[spec.pk]), {"reason": " "}))
    answer = client.post(reverse("spec-revise", args=[spec.pk]), {"reason": "waist over"})
    draft = Spec.objects.get(style=spec.style, revision=2)
    assert answer["Location"] == reverse("spec-edit", args=[draft.pk])
    page = said(client.post(reverse("spec-revise", args=[spec.pk]), {"reason": "again"}))
    assert "has a draft already" in page


def test_discarding_asks_first_and_refuses_what_a_batch_names() -> None:
    spec = _draft()
    client = client_of()
    assert "Throw this draft away?" in said(client.get(reverse("spec-discard", args=[spec.pk])))
    assert Spec.objects.exists()
    batch = make_batch(spec)
    assert "named by a batch" in said(client.post(reverse("spec-discard", args=[spec.pk]), follow=True))
    batch.delete()
    client.post(reverse("spec-discard", args=[spec.pk]))
    assert not Spec.objects.exists()


def test_what_changed_is_shown_against_the_revision_asked_for() -> None:
    spec = make_spec()
    draft = revise_spec(spec=spec, reason="tighter", by=make_user(Role.OWNER), at=NOW)
    client = client_of()
    client.post(reverse("spec-edit", args=[draft.pk]), _row("WA", "330", "352", "380"))
    page = said(client.get(reverse("spec-changes", args=[draft.pk]), {"from": "1"}))
    assert "From revision 1 to revision 2" in page
    assert "−3" in page
    assert "From revision 1" in said(client.get(reverse("spec-changes", args=[draft.pk]), {"from": "x"}))
    alone = make_spec()
    assert "Nothing to compare with" in said(client.get(reverse("spec-changes", args=[alone.pk])))


def test_a_retired_point_stays_on_the_sheet_it_was_agreed_on() -> None:
    spec = make_spec()
    MeasurePoint.objects.filter(style=spec.style, code="CF").update(is_active=False)
    assert "retired since" in said(client_of().get(reverse("spec", args=[spec.pk])))


def test_looking_changes_nothing() -> None:
    spec = _draft()
    client = client_of()
    for name in ("spec", "spec-edit", "spec-tolerances", "spec-frame", "spec-publish", "spec-discard"):
        client.get(reverse(name, args=[spec.pk]))
    assert not AuditRow.objects.exists()
