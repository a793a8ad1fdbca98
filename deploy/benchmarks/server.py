"""The real server as `deploy/start` runs it, and a person signed in at it."""

from __future__ import annotations

import contextlib
import http.client
import re
import signal
import socket
import subprocess
import sys
import time
from http.cookies import SimpleCookie
from typing import TYPE_CHECKING
from urllib.parse import urlencode

from deploy.benchmarks import folders

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

READY_WITHIN_S = 180.0  # the smoke test runs on busy machines


@contextlib.contextmanager
def serving(data: Path, *, static: Path) -> Iterator[int]:
    """Web server and job runner on this folder; gives the port. What they say is kept in `server.log`."""
    with socket.create_server(("127.0.0.1", 0)) as probe:
        port = int(probe.getsockname()[1])
    env = folders.environment(
        data, static=static, PORT=str(port), DJANGO_SETTINGS_MODULE="deploy.benchmarks.settings"
    )
    log = data / "server.log"
    with log.open("wb") as kept:
        server = subprocess.Popen(
            [sys.executable, "-m", "shop_qc.serve"], cwd=folders.ROOT, env=env, stdout=kept, stderr=kept
        )
        try:
            _wait_until_ready(server, port, log)
            yield port
        finally:
            server.send_signal(signal.SIGTERM)
            server.wait(timeout=60)


def _wait_until_ready(server: subprocess.Popen[bytes], port: int, log: Path) -> None:
    deadline = time.monotonic() + READY_WITHIN_S
    while time.monotonic() < deadline and server.poll() is None:
        with contextlib.suppress(OSError):
            asking = http.client.HTTPConnection("127.0.0.1", port, timeout=5)
            asking.request("GET", "/health/")
            if asking.getresponse().status == http.HTTPStatus.OK:
                return
        time.sleep(0.2)
    raise RuntimeError(f"The server did not get ready:\n{log.read_text()}")


class Person:
    """Somebody signed in over the sign-in page, with the cookies and the token a browser would hold."""

    def __init__(self, port: int, *, username: str, password: str) -> None:
        self.connection = http.client.HTTPConnection("127.0.0.1", port, timeout=60)
        self.cookies: dict[str, str] = {}
        self.token = ""
        self._see(self.get("/sign-in/"))
        fields = {"username": username, "password": password}
        status, page = self.post("/sign-in/", fields)
        if status != http.HTTPStatus.FOUND:
            raise RuntimeError(f"{username} could not sign in ({status}): {page[:500]}")
        self._see(self.get("/bench/"))

    def get(self, path: str) -> str:
        """A page, as text."""
        self.connection.request("GET", path, headers={"Cookie": self._cookie()})
        answer = self.connection.getresponse()
        self._keep_cookies(answer)
        return answer.read().decode()

    def post(self, path: str, fields: dict[str, str]) -> tuple[int, str]:
        """Status and text of the answer to a form sent as the bench's script sends it."""
        self.prepare(fields)
        self.connection.request("POST", path, body=self.body, headers=self.headers)
        answer = self.connection.getresponse()
        self._keep_cookies(answer)
        return answer.status, answer.read().decode()

    def timed_post(self, path: str, fields: dict[str, str]) -> tuple[float, str]:
        """Seconds from sending to the last byte of the answer, and its text; anything but 200 is an error."""
        self.prepare(fields)
        began = time.perf_counter()
        self.connection.request("POST", path, body=self.body, headers=self.headers)
        answer = self.connection.getresponse()
        content = answer.read()
        took = time.perf_counter() - began
        if answer.status != http.HTTPStatus.OK:
            raise RuntimeError(f"{path} answered {answer.status}: {content[:500]!r}")
        return took, content.decode()

    def prepare(self, fields: dict[str, str]) -> None:
        """Body and headers of a form with its token."""
        self.body = urlencode({**fields, "csrfmiddlewaretoken": self.token}).encode()
        self.headers = {
            "Accept": "application/json",
            "Content-Type": "application/x-www-form-urlencoded",
            "Cookie": self._cookie(),
        }

    def _cookie(self) -> str:
        return "; ".join(f"{name}={value}" for name, value in self.cookies.items())

    def _keep_cookies(self, answer: http.client.HTTPResponse) -> None:
        for line in answer.headers.get_all("Set-Cookie") or ():
            self.cookies |= {name: morsel.value for name, morsel in SimpleCookie(line).items()}

    def _see(self, page: str) -> None:
        found = re.search(r'name="csrfmiddlewaretoken" value="(\w+)"', page)
        if found:
            self.token = found[1]
