"""Real servers for the tests: each in a folder of its own, ended by its own number, never the system's."""

from __future__ import annotations

import os
import pwd
import shutil
import signal
import socket
import subprocess
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path


def free_port() -> int:
    """Return a port of this machine that nothing listens on just now."""
    with socket.create_server(("127.0.0.1", 0)) as probe:
        return int(probe.getsockname()[1])


@contextmanager
def folder_for(owner: str) -> Iterator[Path]:
    """Give a short-named folder that `owner` may write to; pytest's own folders are closed to other users."""
    folder = Path(tempfile.mkdtemp(prefix="room-"))
    try:
        if os.geteuid() == 0:
            shutil.chown(folder, owner)
        folder.chmod(0o755)
        yield folder
    finally:
        shutil.rmtree(folder, ignore_errors=True)


def as_postgres() -> list[str]:
    """Return what to put before a command: PostgreSQL refuses to be run by root."""
    return ["runuser", "-u", "postgres", "--"] if os.geteuid() == 0 else []


def quietly(command: list[str], folder: Path) -> None:
    """Run a command to its good end, without its chatter."""
    subprocess.run(command, cwd=folder, check=True, stdout=subprocess.DEVNULL)


@contextmanager
def postgresql() -> Iterator[str]:
    """Run a PostgreSQL and give the address of its empty database."""
    programs = sorted(Path("/usr/lib/postgresql").glob("*/bin"))[-1]
    port = free_port()
    owner = "postgres" if os.geteuid() == 0 else pwd.getpwuid(os.geteuid()).pw_name
    with folder_for(owner) as folder:
        data = folder / "data"
        make = ["-A", "trust", "-U", "postgres", "-E", "UTF8", "--locale=C.UTF-8", "-N"]
        quietly([*as_postgres(), str(programs / "initdb"), "-D", str(data), *make], folder)
        options = f"-p {port} -c listen_addresses=127.0.0.1 -c unix_socket_directories={folder} -c fsync=off"
        control = [*as_postgres(), str(programs / "pg_ctl"), "-D", str(data), "-w", "-l", str(folder / "log")]
        quietly([*control, "-o", options, "start"], folder)
        try:
            yield f"postgres://postgres@127.0.0.1:{port}/postgres"
        finally:
            quietly([*control, "-m", "immediate", "stop"], folder)


@contextmanager
def redis() -> Iterator[str]:
    """Run a Redis that keeps nothing and give its address."""
    port = free_port()
    with tempfile.TemporaryDirectory(prefix="room-") as folder:
        keep_nothing = ["--save", "", "--appendonly", "no", "--bind", "127.0.0.1", "--dir", folder]
        with subprocess.Popen(
            ["/usr/bin/redis-server", "--port", str(port), *keep_nothing], stdout=subprocess.DEVNULL
        ) as server:
            try:
                wait_for_port(port)
                yield f"redis://127.0.0.1:{port}/0"
            finally:
                server.send_signal(signal.SIGTERM)


def wait_for_port(port: int) -> None:
    """Return once something listens on the port of this machine."""
    deadline = time.monotonic() + 20
    while True:
        try:
            socket.create_connection(("127.0.0.1", port), timeout=1).close()
        except OSError:
            assert time.monotonic() < deadline, f"Nothing came to listen on port {port}."
            time.sleep(0.05)
        else:
            return
