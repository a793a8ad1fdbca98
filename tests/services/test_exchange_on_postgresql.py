"""Import, export and restoring on a real PostgreSQL: the rows go in by COPY there."""

from __future__ import annotations

import json
from collections.abc import Iterator

import pytest

from tests.conftest import ShopFolder
from tests.services import servers

pytestmark = pytest.mark.services

BRING_IN = """
import django; django.setup()
import json
from django.core.management import call_command
from inventory.models import *
from tests.factories import NOW, make_user
from tests.inventory.services.exporting.whole_shop import (
    a_shop_with_some_of_everything, restored, tables_of, without, written,
)

owner = a_shop_with_some_of_everything()
content = written("csv", owner)
before = tables_of(written("json", owner))
before["audit"]["rows"].pop()  # that the second form was asked for, is not in the first
call_command("flush", verbosity=0, interactive=False)
boss = make_user("owner", username="boss")
result = restored(content, boss)
equal = without(tables_of(written("json", boss)), "boss") == before
highest = Piece.objects.order_by("-pk").first()
highest.pk, highest.number, was = None, 5_000, highest.pk
highest.save(force_insert=True)
print(json.dumps({
    "equal": equal,
    "verdicts": [result["verdicts_same"], result["verdicts_other"]],
    "next_is_free": highest.pk > was,
}))
"""


@pytest.fixture(scope="module")
def postgres_folder(tmp_path_factory: pytest.TempPathFactory) -> Iterator[ShopFolder]:
    with servers.postgresql() as address:
        folder = ShopFolder(tmp_path_factory.mktemp("postgres"), {"DATABASE_URL": address})
        folder.run("manage.py", "migrate", "--verbosity=0")
        yield folder


def test_on_postgresql_a_file_is_stored_and_an_export_comes_back_whole(postgres_folder: ShopFolder) -> None:
    said = json.loads(postgres_folder.run("-c", BRING_IN).splitlines()[-1])
    # The next row the object mapper writes gets a number of its own: the sequence knows of the reserved ones.
    assert said == {"equal": True, "verdicts": [5, 0], "next_is_free": True}
