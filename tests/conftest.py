"""What every test stands on: quick settings, its own data folder, no outside connection, a real browser."""

from __future__ import annotations

import ipaddress
import os
import shutil
import socket
import sqlite3
import subprocess
import sys
from collections.abc import Callable, Iterator, Mapping
from contextlib import closing
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING, Any

import hypothesis
import pytest
from django.conf import settings as django_settings
from django.test import Client, override_settings

if TYPE_CHECKING:
    from playwright.sync_api import Browser, Page
    from pytest_django.live_server_helper import LiveServer

    from inventory.models import User

# Playwright's synchronous interface runs an event loop in the test's thread; Django would refuse its database
# there. The loop is not ours and nothing of Django runs on it.
os.environ["DJANGO_ALLOW_ASYNC_UNSAFE"] = "true"

# A run of the suite gives the same answer twice; set HYPOTHESIS_PROFILE to explore for new counter-examples.
hypothesis.settings.register_profile("steady", deadline=None, derandomize=True)
hypothesis.settings.register_profile("explore", deadline=None, derandomize=False, print_blob=True)
hypothesis.settings.load_profile(os.environ.get("HYPOTHESIS_PROFILE", "steady"))

ROOT = Path(__file__).resolve().parent.parent

CHROMIUM = "/usr/bin/chromium"
CHROMIUM_OPTIONS = [
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    # The browser is a process of its own, out of reach of `no_outside_connections`: it knows no other host.
    "--host-resolver-rules=MAP * ~NOTFOUND, EXCLUDE localhost, EXCLUDE 127.0.0.1",
]

TEST_SETTINGS: dict[str, Any] = {  # Any: settings are of every type
    # The real hasher is slow on purpose; here a sign-in happens hundreds of times.
    "PASSWORD_HASHERS": ["django.contrib.auth.hashers.MD5PasswordHasher"],
    "CACHES": {"default": {"BACKEND": "django.core.cache.backends.locmem.LocMemCache"}},
    # Without `collectstatic` there is no list of hashed names to look in.
    "STORAGES": {
        "default": {"BACKEND": "django.core.files.storage.FileSystemStorage"},
        "staticfiles": {"BACKEND": "django.contrib.staticfiles.storage.StaticFilesStorage"},
    },
    "REDIS_URL": "",
}


def pytest_terminal_summary(terminalreporter: pytest.TerminalReporter) -> None:
    """Repeat, just above the closing line, which checks of `deploy/test` failed before the tests."""
    failed = os.environ.get("CHECKS_FAILED")
    if failed:
        terminalreporter.section("failed before the tests", red=True)
        terminalreporter.line(failed)


@pytest.fixture(scope="session", autouse=True)
def settings_of_the_tests(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Path]:
    """Put the quick settings in place, and give the run a data folder of its own, which is the value."""
    folder = tmp_path_factory.mktemp("data")
    places = {
        "DATA_DIR": folder,
        "MEDIA_ROOT": folder / "media",
        "HEARTBEAT_FILE": folder / "runner-heartbeat",
        "STATIC_ROOT": folder / "staticfiles",
    }
    places["STATIC_ROOT"].mkdir()
    with override_settings(**TEST_SETTINGS, **places):
        yield folder


@pytest.fixture(autouse=True)
def no_plans_of_another_test() -> None:
    """Forget what is kept in memory: the rows of one test are rolled back and the next gets their ids."""
    # Models may be imported only once Django is set up.
    from inventory.queries import plans, tape_corrections, verdict_cells  # noqa: PLC0415

    plans._kept_plans.cache_clear()
    verdict_cells.forget_kept()
    tape_corrections.forget_kept()


@pytest.fixture(autouse=True)
def no_outside_connections(monkeypatch: pytest.MonkeyPatch) -> None:
    """Refuse every connection that would leave this machine, naming where it wanted to go."""
    real_connect = socket.socket.connect

    def connect(self: socket.socket, address: Any) -> None:  # Any: a path, a pair or a quadruple
        if isinstance(address, tuple) and not _is_this_machine(str(address[0])):
            raise RuntimeError(
                f"A test tried to reach {address[0]}:{address[1]}; tests stay on this machine."
            )
        real_connect(self, address)

    monkeypatch.setattr(socket.socket, "connect", connect)


def _is_this_machine(host: str) -> bool:
    try:
        return ipaddress.ip_address(host).is_loopback
    except ValueError:
        return host == "localhost"


@dataclass(frozen=True)
class ShopFolder:
    """A data folder with a migrated database file, for programs started as processes of their own."""

    data: Path
    more: Mapping[str, str] = field(default_factory=dict)  # variables besides, such as another database

    root = ROOT

    @property
    def environment(self) -> dict[str, str]:
        """Return the environment in which a program uses this folder and nothing of the developer's."""
        kept = {name: os.environ[name] for name in ("PATH", "HOME", "LANG") if name in os.environ}
        places = {"DATA_DIR": str(self.data), "STATIC_DIR": str(self.data / "staticfiles")}
        quiet = {"LOG_LEVEL": "ERROR", "PYTHONPATH": str(ROOT)}
        return kept | places | quiet | {"DJANGO_SETTINGS_MODULE": "shop_qc.settings"} | dict(self.more)

    def run(self, *arguments: str) -> str:
        """Run Python on this folder and return what it printed; a failure shows what it said."""
        done = subprocess.run(
            [sys.executable, *arguments],
            cwd=ROOT,
            env=self.environment,
            capture_output=True,
            text=True,
            check=False,
        )
        assert done.returncode == 0, done.stdout + done.stderr
        return done.stdout

    def rows(self, query: str) -> list[tuple[Any, ...]]:  # Any: what SQLite can hold
        """Look into the database file past the program under test."""
        with closing(sqlite3.connect(self.data / "shop.sqlite3", timeout=20)) as reader:
            return reader.execute(query).fetchall()


@pytest.fixture(scope="session")
def migrated_folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Migrate one database file for the run; `shop_folder` hands out copies."""
    folder = ShopFolder(tmp_path_factory.mktemp("migrated"))
    folder.run("manage.py", "migrate", "--verbosity=0")
    return folder.data


@pytest.fixture
def shop_folder(migrated_folder: Path, tmp_path: Path) -> ShopFolder:
    """Give the test a migrated data folder of its own."""
    shutil.copytree(migrated_folder, tmp_path / "shop")
    return ShopFolder(tmp_path / "shop")


@pytest.fixture(scope="session")
def chromium() -> Iterator[Browser]:
    """Start one Chromium for the run; each `page` gets a fresh profile in it."""
    from playwright.sync_api import sync_playwright  # noqa: PLC0415 - only the browser tests pay for it

    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=CHROMIUM, args=CHROMIUM_OPTIONS)
        yield browser
        browser.close()


@pytest.fixture
def page(chromium: Browser, live_server: LiveServer) -> Iterator[Page]:
    """Open an empty page on the live server; an uncaught script error fails the test."""
    context = chromium.new_context(base_url=live_server.url, viewport={"width": 1280, "height": 800})
    context.set_default_timeout(5000)  # a broken page should cost seconds, not half a minute a step
    opened = context.new_page()
    script_errors: list[str] = []
    opened.on("pageerror", lambda error: script_errors.append(str(error)))
    yield opened
    context.close()
    assert not script_errors, "The page's scripts broke: " + "; ".join(script_errors)


@pytest.fixture
def sign_in(page: Page, live_server: LiveServer) -> Callable[[User], Page]:
    """Return a function that signs a person in on `page` without the form, by the session's cookie."""

    def with_cookie(user: User) -> Page:
        client = Client()
        client.force_login(user)
        cookie = client.cookies[django_settings.SESSION_COOKIE_NAME]
        page.context.add_cookies([{"name": cookie.key, "value": cookie.value, "url": live_server.url}])
        return page

    return with_cookie
