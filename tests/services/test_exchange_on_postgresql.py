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
from inventory import tasks
from inventory.models import *
from inventory.services.exporting import runs as exporting
from inventory.services.importing import runs as importing
from tests.factories import NOW, make_user
from tests.inventory.services.exporting.test_round_trip import a_shop_with_some_of_everything, everything

def done(job):
    tasks.execute(job.pk)
    job.refresh_from_db()
    assert job.state == "done", job.error
    return job

owner = a_shop_with_some_of_everything()
before = everything()
content = exporting.file_of(done(exporting.request_export(form="csv", by=owner, at=NOW))).read_bytes()
call_command("flush", verbosity=0, interactive=False)
boss = make_user("owner", username="boss")
run = importing.upload_file(kind="whole", name="x.zip", content=content, by=boss, at=NOW)
done(importing.request_check(run=run, by=boss))
result = done(importing.request_store(run=run, accept_suspicious=False, by=boss, at=NOW)).result
equal = everything() == before
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
