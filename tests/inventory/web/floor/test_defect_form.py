"""The form a defect is noted with."""

from __future__ import annotations

import pytest

from inventory.calc.length import Unit
from inventory.web.floor.forms.defects import DefectForm
from tests.factories import make_batch

pytestmark = pytest.mark.django_db


@pytest.mark.parametrize(
    ("unit", "words"),
    [
        (Unit.INCH, "In inches unless you type another unit."),
        (Unit.MM, "In mm unless you type another unit."),
    ],
)
def test_the_size_says_in_words_what_a_bare_figure_means(unit: Unit, words: str) -> None:
    form = DefectForm(batch=make_batch(), unit=unit)
    assert form.fields["size_nm"].help_text == words
