"""The style sheets and scripts as served for real: collected, under names that carry a hash."""

from __future__ import annotations

import re

from tests.conftest import ShopFolder
from tests.project.documents import ROOT

# What a page refers to must have been collected: otherwise it fails when it is drawn, and here.
DRAW_PAGES = """
import re
import django
django.setup()
from django.test import Client
from inventory.models import User
User.objects.create_user("owner", role="owner")
client = Client(HTTP_HOST="localhost")
seen = [client.get("/sign-in/")]
client.force_login(User.objects.get())
seen += [client.get(address) for address in ("/", "/admin/", "/api/v1/docs/")]
for page in seen:
    assert page.status_code == 200, page
    for address in re.findall(r'(?:src|href)="(/static/[^"]+)"', page.content.decode()):
        file = client.get(address)
        assert file.status_code == 200, address
        hashed = re.search(r"\\.[0-9a-f]{12}\\.", address)
        assert not hashed or "immutable" in file["Cache-Control"], (address, file["Cache-Control"])
        file.close()
        print(address)
"""


def test_every_file_that_the_pages_name_is_collected_as_deploy_start_does_it(shop_folder: ShopFolder) -> None:
    line = re.search(r"^step (collectstatic .+)$", (ROOT / "deploy" / "start").read_text(), re.MULTILINE)
    assert line is not None
    shop_folder.run("manage.py", *line[1].split())
    served = shop_folder.run("-c", DRAW_PAGES).splitlines()
    assert any("swagger-ui" in address for address in served)
    assert any(re.search(r"/static/inventory/css/\w+\.[0-9a-f]{12}\.css", address) for address in served)
