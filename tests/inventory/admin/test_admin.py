"""The admin site: set-up with audit rows, evidence only to look at, frozen specs frozen."""

import pytest
from django.contrib import admin
from django.contrib.admin.options import ModelAdmin
from django.db import connection
from django.db.models import Model
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from inventory.models import (
    AuditRow,
    CataloguePoint,
    DecisionRule,
    Instrument,
    Maker,
    MeasurePoint,
    Piece,
    Reading,
    Shop,
    Spec,
    SpecCell,
    SpecPoint,
    Style,
    User,
)
from inventory.models.people import Role
from inventory.services.tokens import issue_token
from tests.factories import (
    MM,
    NOW,
    make_inspection,
    make_instrument,
    make_maker,
    make_piece,
    make_reading,
    make_spec,
    make_style,
    make_user,
)

pytestmark = pytest.mark.django_db
EVIDENCE = [
    "auditrow",
    "batch",
    "batchdecision",
    "batchsampling",
    "checkgarment",
    "checkreading",
    "checksitting",
    "decisionrule",
    "defect",
    "delivery",
    "disposition",
    "drawnpiece",
    "importrun",
    "inspection",
    "job",
    "judgementbasis",
    "photo",
    "piece",
    "pieceverdict",
    "pointerror",
    "reading",
    "samplingscheme",
    "slipquestion",
    "study",
    "studyreading",
    "switchingnote",
    "tapecheck",
]
OURS = [model for model in admin.site._registry if model._meta.app_label == "inventory"]


@pytest.fixture
def owner() -> User:
    return make_user(Role.OWNER)


@pytest.fixture
def client(owner: User) -> Client:
    signed_in = Client()
    signed_in.force_login(owner)
    return signed_in


def _page(model: type[Model], name: str, *arguments: object) -> str:
    return reverse(f"admin:inventory_{model._meta.model_name}_{name}", args=arguments or None)


@pytest.mark.parametrize("model", OURS, ids=lambda model: model._meta.model_name)
def test_every_list_opens_and_can_be_searched(client: Client, model: type[Model]) -> None:
    assert client.get(_page(model, "changelist")).status_code == 200
    assert client.get(_page(model, "changelist"), {"q": "5"}).status_code == 200


@pytest.mark.parametrize("role", [Role.INSPECTOR, Role.VIEWER, None])
def test_nobody_but_the_owner_gets_in(role: str | None) -> None:
    browser = Client()
    if role is not None:
        browser.force_login(make_user(role))
    for model in OURS:
        assert browser.get(_page(model, "changelist")).status_code == 302


@pytest.mark.parametrize("model", OURS, ids=lambda model: model._meta.model_name)
def test_evidence_is_only_looked_at_and_only_drafts_and_defaults_are_deleted(
    client: Client, owner: User, model: type[Model]
) -> None:
    request = client.get(reverse("admin:index")).wsgi_request
    request.user = owner
    page: ModelAdmin[Model] = admin.site._registry[model]
    may_change = page.has_change_permission(request)
    assert may_change is (model._meta.model_name not in EVIDENCE)
    if model is not CataloguePoint:
        assert not page.has_delete_permission(request)


def test_a_reading_is_shown_in_millimetres_and_cannot_be_posted_over(client: Client) -> None:
    reading = make_reading(make_inspection(), mm=355.5)
    page = client.get(_page(Reading, "change", reading.pk)).content.decode()
    assert "355.5 mm" in page
    assert "355500000" not in page
    assert 'name="_save"' not in page
    assert client.post(_page(Reading, "change", reading.pk), {"typed": "1"}).status_code == 403
    assert client.post(_page(Reading, "delete", reading.pk), {"post": "yes"}).status_code == 403


def test_a_rule_is_not_edited_here(client: Client) -> None:
    rule = DecisionRule.objects.all()[0]
    assert client.post(_page(DecisionRule, "change", rule.pk), {"multiplier": "0"}).status_code == 403
    assert client.get(_page(DecisionRule, "add")).status_code == 403


def test_a_change_leaves_an_audit_row_with_what_was_there(client: Client, owner: User) -> None:
    maker = make_maker(name="North")
    boxes = {"code": maker.code, "name": "South", "language": "en", "is_active": "on"}
    boxes["notice_window_days"] = "14"
    assert client.post(_page(Maker, "change", maker.pk), boxes).status_code == 302
    row = AuditRow.objects.get()
    assert (row.who, row.deed) == (owner, "admin: change maker")
    assert row.detail == {"changed": {"name": ["North", "South"]}}


@pytest.mark.parametrize(
    ("typed", "nm"), [("1/16 in", 1_587_500), ("0,1 cm", MM), ("1", MM), ("1/16 ells", None)]
)
def test_lengths_are_typed_in_any_unit(client: Client, typed: str, nm: int | None) -> None:
    boxes = {"number": "T9", "kind": "tape", "division_nm": typed}
    answer = client.post(_page(Instrument, "add"), boxes)
    if nm is None:
        assert "Type" in answer.content.decode()
        assert not Instrument.objects.exists()
    else:
        assert Instrument.objects.get().division_nm == nm
        assert AuditRow.objects.get().deed == "admin: add instrument"


def test_length_boxes_are_text_boxes(client: Client) -> None:
    instrument = make_instrument()
    page = client.get(_page(Instrument, "change", instrument.pk)).content.decode()
    assert 'type="text" name="division_nm" value="1 mm"' in page


def test_a_draft_is_filled_in_with_an_audit_row(client: Client) -> None:
    spec = make_spec(state=Spec.State.DRAFT)
    row = spec.spec_points.get(point__code="WA")
    cells = list(row.cells.order_by("size__position"))
    boxes: dict[str, object] = {
        "basis": "full",
        "favourable_side": "",
        "asymmetry_limit_nm": "1/4 in",
        "favourable_limit_nm": "",
        "grade_step_nm": "25",
        "cells-TOTAL_FORMS": 3,
        "cells-INITIAL_FORMS": 3,
    }
    for place, cell in enumerate(cells):
        boxes |= {
            f"cells-{place}-id": cell.pk,
            f"cells-{place}-spec_point": row.pk,
            f"cells-{place}-size": cell.size_id,
            f"cells-{place}-nominal_nm": "13 1/2 in" if place == 0 else f"{cell.nominal_nm // MM}",
            f"cells-{place}-tolerance_minus_nm": "6",
            f"cells-{place}-tolerance_plus_nm": "6",
        }
    assert client.post(_page(SpecPoint, "change", row.pk), boxes).status_code == 302
    row.refresh_from_db()
    assert (row.basis, row.asymmetry_limit_nm) == ("full", 6_350_000)
    assert SpecCell.objects.get(pk=cells[0].pk).nominal_nm == 342_900_000
    deeds = set(AuditRow.objects.values_list("deed", flat=True))
    assert deeds == {"admin: change spec point", "admin: change spec cell"}


def test_a_frozen_spec_is_shown_in_millimetres_and_stays(client: Client) -> None:
    spec = make_spec()
    row = spec.spec_points.get(point__code="WA")
    for page in (_page(Spec, "change", spec.pk), _page(SpecPoint, "change", row.pk)):
        shown = client.get(page).content.decode()
        assert 'name="_save"' not in shown
        assert "000000" not in shown
        assert client.post(page, {"basis": "full"}).status_code == 403
    assert "355 mm" in client.get(_page(SpecPoint, "change", row.pk)).content.decode()
    row.refresh_from_db()
    assert row.basis == "half"


def test_what_a_frozen_spec_stands_on_is_fixed_here_too(client: Client) -> None:
    point = make_spec().style.points.get(code="WA")
    page = client.get(_page(MeasurePoint, "change", point.pk)).content.decode()
    assert 'name="kind"' not in page
    assert 'name="level"' in page
    fresh = make_style().points.get(code="WA")
    assert 'name="kind"' in client.get(_page(MeasurePoint, "change", fresh.pk)).content.decode()


def test_the_last_owner_is_not_demoted_here_either(client: Client, owner: User) -> None:
    boxes = {"username": owner.username, "role": "viewer", "is_active": "on"}
    page = client.post(_page(User, "change", owner.pk), boxes).content.decode()
    assert "Make somebody else an owner first" in page
    owner.refresh_from_db()
    assert owner.role == Role.OWNER


def test_a_password_set_here_ends_the_token_and_leaves_an_audit_row_without_it(client: Client) -> None:
    person = make_user(Role.VIEWER)
    issue_token(by=person, at=NOW)
    address = reverse("admin:auth_user_password_change", args=[person.pk])
    new = "another-long-test-password"
    boxes = {"password1": new, "password2": new, "usable_password": "true"}
    assert client.post(address, boxes).status_code == 302
    person.refresh_from_db()
    assert person.check_password(new)
    row = AuditRow.objects.get(subject_id=person.pk, deed="admin: reset password")
    assert new not in str(row.detail)
    assert AuditRow.objects.filter(subject_id=person.pk, deed="revoke token").exists()


def test_ones_own_password_is_changed_where_everybody_changes_theirs(client: Client) -> None:
    answer = client.get(reverse("admin:password_change"))
    assert (answer.status_code, answer.headers["Location"]) == (302, reverse("password-change"))


def test_a_default_of_the_catalogue_can_be_deleted_and_that_is_noted(client: Client) -> None:
    point = CataloguePoint.objects.get(group="laced", code="EY")
    client.post(_page(CataloguePoint, "delete", point.pk), {"post": "yes"})
    assert not CataloguePoint.objects.filter(pk=point.pk).exists()
    assert AuditRow.objects.get().deed == "admin: delete catalogue point"


@pytest.mark.parametrize("model", [Style, MeasurePoint, Spec, SpecPoint, Piece, Reading, AuditRow])
def test_lists_take_the_same_statements_however_long(client: Client, owner: User, model: type[Model]) -> None:
    def grow() -> None:
        inspection = make_inspection(make_piece())
        make_reading(inspection)
        AuditRow.objects.create(
            at=NOW, who=make_user(), deed="test", subject_type="style", subject_id=1, subject_label="a style"
        )

    grow()
    client.get(_page(model, "changelist"))
    counts = []
    for _ in range(2):
        with CaptureQueriesContext(connection) as captured:
            client.get(_page(model, "changelist"))
        counts.append(len(captured))
        for _ in range(3):
            grow()
    assert counts[0] == counts[1]


def test_closed_days_that_say_no_day_are_refused_in_the_admin_site_too(client: Client) -> None:
    page = client.get(_page(Shop, "change", Shop.ONLY))
    sent = {
        name: "" if value is None else value for name, value in page.context["adminform"].form.initial.items()
    }
    answer = client.post(_page(Shop, "change", Shop.ONLY), sent | {"closed_days": "Christmas"})
    assert "is no closed day" in answer.content.decode()
    assert Shop.objects.current().closed_days == ""


def test_groups_which_give_no_right_here_are_not_offered(client: Client) -> None:
    assert "Groups" not in client.get(reverse("admin:index")).content.decode()
