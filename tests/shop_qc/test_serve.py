"""The real program on a real port: what it starts, how it ends, and that nothing stays behind."""

from __future__ import annotations

import http.client
import json
import os
import signal
import socket
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from contextlib import closing, suppress
from pathlib import Path

import pytest

from shop_qc import serve
from tests.conftest import ShopFolder


class Served:
    """One running `python -m shop_qc.serve`."""

    def __init__(self, folder: ShopFolder) -> None:
        self.folder = folder
        self.port = free_port()
        self.log = folder.data / "serve.log"
        with self.log.open("w") as log:
            self.process = subprocess.Popen(
                [sys.executable, "-m", "shop_qc.serve"],
                cwd=folder.root,
                env=folder.environment | {"PORT": str(self.port)},
                stdout=log,
                stderr=subprocess.STDOUT,
            )

    def health(self) -> dict[str, object] | None:
        with closing(http.client.HTTPConnection("127.0.0.1", self.port, timeout=5)) as asked:
            try:
                asked.request("GET", "/health/")
                answer: dict[str, object] = json.loads(asked.getresponse().read())
            except OSError:
                return None
            return answer

    def family(self) -> dict[int, str]:
        """Return every living process that works on this folder, by number, with its command line."""
        mark = f"DATA_DIR={self.folder.data}".encode()
        found = {}
        for entry in Path("/proc").iterdir():
            with suppress(OSError):  # it ended while we looked, or is not ours to look into
                if entry.name.isdigit() and mark in (entry / "environ").read_bytes().split(b"\0"):
                    found[int(entry.name)] = (entry / "cmdline").read_text().replace("\0", " ")
        return found

    def runner(self) -> int | None:
        return next((number for number, command in self.family().items() if "run_jobs" in command), None)


def free_port() -> int:
    with socket.create_server(("127.0.0.1", 0)) as probe:
        return int(probe.getsockname()[1])


def soon(holds: Callable[[], object], served: Served) -> None:
    deadline = time.monotonic() + 40
    while not holds():
        assert time.monotonic() < deadline, served.log.read_text()
        time.sleep(0.1)


def ends_well_at(stop: signal.Signals, served: Served) -> None:
    served.process.send_signal(stop)
    assert served.process.wait(timeout=20) == 0
    assert served.family() == {}
    assert "Traceback" not in served.log.read_text()


@pytest.fixture
def served(shop_folder: ShopFolder) -> Iterator[Served]:
    started = Served(shop_folder)
    try:
        yield started
    finally:
        for number in started.family():
            with suppress(ProcessLookupError):
                os.kill(number, signal.SIGKILL)
        started.process.wait()


def test_it_answers_works_and_ends_at_ctrl_c_with_nothing_left(served: Served) -> None:
    soon(lambda: (told := served.health()) and told["ready"] and told["background_work"] is not None, served)
    soon(lambda: "Ready: http://127.0.0.1:" in served.log.read_text(), served)
    soon(lambda: len(served.family()) == 5, served)  # the parent, gunicorn, its two workers, the job runner
    ends_well_at(signal.SIGINT, served)


def test_a_killed_job_runner_is_started_again(served: Served) -> None:
    soon(served.runner, served)
    first = served.runner()
    assert first is not None
    os.kill(first, signal.SIGKILL)
    soon(lambda: served.runner() not in {None, first}, served)
    soon(served.health, served)
    ends_well_at(signal.SIGTERM, served)


def test_when_the_parent_itself_is_killed_its_children_end(served: Served) -> None:
    soon(served.health, served)
    soon(served.runner, served)
    served.process.kill()
    served.process.wait()
    soon(lambda: served.family() == {}, served)


def test_when_the_web_server_dies_everything_ends_and_says_so(served: Served) -> None:
    soon(served.health, served)
    for number, command in served.family().items():
        if "gunicorn" in command:
            with suppress(ProcessLookupError):
                os.kill(number, signal.SIGKILL)
    assert served.process.wait(timeout=20) == 1
    assert served.family() == {}
    assert "web server ended by itself" in served.log.read_text()


def test_silent_connections_do_not_hold_the_workers(served: Served) -> None:
    soon(served.health, served)
    silent = [socket.create_connection(("127.0.0.1", served.port)) for _ in range(6)]
    try:
        asked = time.monotonic()
        assert served.health() is not None
        assert time.monotonic() - asked < 2
    finally:
        for connection in silent:
            connection.close()
    ends_well_at(signal.SIGHUP, served)


def test_on_this_machine_only_the_names_are_its_own() -> None:
    assert serve.reachable_names("127.0.0.1") == ["localhost", "127.0.0.1", "[::1]"]


def test_open_to_the_network_the_machines_name_and_address_are_to_be_used(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(serve, "_outward_address", lambda: "192.0.2.9")
    own = socket.gethostname().lower()
    everywhere = serve.reachable_names("0.0.0.0")  # noqa: S104 - asked about, not opened
    assert everywhere[3:] == [own, f"{own}.local", "192.0.2.9"]
    assert serve.reachable_names("192.0.2.7")[3:] == [own, f"{own}.local", "192.0.2.7"]


def test_without_a_network_there_is_no_outward_address(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(serve, "_outward_address", lambda: "")
    assert "" not in serve.reachable_names("0.0.0.0")  # noqa: S104 - asked about, not opened
