import pytest

from inventory.web.setup.forms.specs import split_run


@pytest.mark.parametrize(
    ("typed", "labels"),
    [
        ("22, 24,26", ["22", "24", "26"]),
        ("22 24  26", ["22", "24", "26"]),
        ("S\nM\r\nL\n", ["S", "M", "L"]),
        ("24 tall; 26  tall", ["24 tall", "26 tall"]),
        (", ,", []),
        ("", []),
    ],
)
def test_sizes_are_listed_as_people_list_them(typed: str, labels: list[str]) -> None:
    assert split_run(typed) == labels
