import pytest

from inventory.access import NotAllowed
from inventory.models import AuditRow, Spec, SpecCell
from inventory.models.people import Role
from inventory.models.specs import SpecIsFrozen
from inventory.services.spec_sizes import FiguresWouldBeLost, SizeRunWrong, change_draft, check_run
from tests.factories import NOW, make_spec, make_user

pytestmark = pytest.mark.django_db


def _change(spec: Spec, *labels: str, **fields: object) -> Spec:
    values: dict[str, object] = {
        "unit_of_record": spec.unit_of_record,
        "base_size": spec.base_size,
        "reason": spec.reason,
        "by": make_user(Role.OWNER),
        "at": NOW,
    }
    return change_draft(spec=spec, size_labels=labels, **values | fields)  # type: ignore[arg-type]


def _labels(spec: Spec) -> list[str]:
    return [size.label for size in spec.sizes.order_by("position")]


def test_sizes_are_added_and_put_in_order_with_their_figures_kept() -> None:
    spec = make_spec(state=Spec.State.DRAFT)
    before = SpecCell.objects.count()
    _change(spec, "26", "24", "23", "22")
    assert _labels(spec) == ["26", "24", "23", "22"]
    assert SpecCell.objects.count() == before
    assert AuditRow.objects.get().detail == {
        "changed": {"sizes": [["22", "24", "26"], ["26", "24", "23", "22"]]}
    }


def test_a_size_with_figures_is_not_dropped_unasked() -> None:
    spec = make_spec(state=Spec.State.DRAFT)
    with pytest.raises(FiguresWouldBeLost, match="Without 24, 26 in the run"):
        _change(spec, "22")
    assert _labels(spec) == ["22", "24", "26"]
    _change(spec, "22", drop_figures=True)
    assert _labels(spec) == ["22"]
    assert set(SpecCell.objects.values_list("size__label", flat=True)) == {"22"}


def test_another_unit_of_record_changes_no_length() -> None:
    spec = make_spec(state=Spec.State.DRAFT)
    before = list(SpecCell.objects.values_list("pk", "nominal_nm", "tolerance_minus_nm"))
    assert _change(spec, "22", "24", "26", unit_of_record="in").unit_of_record == "in"
    assert list(SpecCell.objects.values_list("pk", "nominal_nm", "tolerance_minus_nm")) == before


@pytest.mark.parametrize(
    ("labels", "base", "words"),
    [
        ([], "22", "has 0 sizes"),
        ([str(n) for n in range(61)], "22", "has 61 sizes"),
        (["22", ""], "22", "Size '' has 0 signs"),
        (["22 23 24 25 26"], "22", "has 14 signs"),
        (["S", "s"], "S", "Size 's' is in the run twice"),
        (["22", "24"], "23", "Base size '23' is not in the run 22, 24"),
    ],
)
def test_a_run_that_cannot_be_is_refused(labels: list[str], base: str, words: str) -> None:
    with pytest.raises(SizeRunWrong, match=words):
        check_run(labels, base)


def test_a_frozen_spec_keeps_its_sizes() -> None:
    with pytest.raises(SpecIsFrozen):
        _change(make_spec(), "22", "24", "26", "28")


def test_an_inspector_changes_no_sizes() -> None:
    with pytest.raises(NotAllowed):
        _change(make_spec(state=Spec.State.DRAFT), "22", by=make_user(Role.INSPECTOR))
