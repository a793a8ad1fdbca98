"""The workbook of a whole export: headings stay in sight, columns can be filtered and are wide enough."""

from __future__ import annotations

import io

import pytest
from openpyxl import load_workbook
from openpyxl.utils import get_column_letter

from inventory.services.exporting.tables import TABLES
from inventory.services.exporting.writing import write_export
from tests import factories
from tests.factories import NOW

pytestmark = pytest.mark.django_db


def test_every_table_of_the_whole_workbook_has_its_heading_frozen_filtered_and_wide_enough() -> None:
    factories.make_reading(factories.make_inspection())
    out = io.BytesIO()
    write_export("xlsx", out, at=NOW, said=lambda _table: None)
    book = load_workbook(out)
    assert book.sheetnames == ["about", *(table.name for table in TABLES)]
    for table in TABLES:
        sheet = book[table.name]
        assert sheet.freeze_panes == "A2", table.name
        assert sheet.auto_filter.ref == sheet.dimensions, table.name
        for number, cell in enumerate(sheet[1], start=1):
            width = sheet.column_dimensions[get_column_letter(number)].width
            assert width >= len(str(cell.value)), cell.value
