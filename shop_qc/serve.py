"""`python -m shop_qc.serve`: the whole tool on one machine, as one program to start and to stop.

One parent opens the port and keeps two children: the web server (gunicorn) and the job runner. A job runner
that dies is started again; when the web server dies, everything ends and the exit code says so. Ctrl-C,
SIGTERM or a closed terminal end both children, and so does the death of the parent itself.
"""

from __future__ import annotations

import contextlib
import ctypes
import http.client
import os
import signal
import socket
import subprocess
import sys
import time
from collections.abc import Mapping
from pathlib import Path

from shop_qc import env, opening

ROOT = Path(__file__).resolve().parent.parent
LOOPBACK = frozenset({"127.0.0.1", "::1", "localhost"})
STOP_SIGNALS = frozenset({signal.SIGINT, signal.SIGTERM, signal.SIGHUP})
WATCHED = STOP_SIGNALS | {signal.SIGCHLD}
TICK_S = 0.2
STOP_WITHIN_S = 15.0
LONGEST_PAUSE_S = 30.0
PR_SET_PDEATHSIG = 1


def reachable_names(host: str) -> list[str]:
    """Return the names under which browsers may address us when listening on `host`."""
    names = ["localhost", "127.0.0.1", "[::1]"]
    if host in LOOPBACK:
        return names
    own = socket.gethostname().lower()
    outward = [_outward_address()] if host in {"0.0.0.0", "::"} else [host]  # noqa: S104 - asked for by the owner
    return [*names, own, f"{own}.local", *(address for address in outward if address)]


def _outward_address() -> str:
    """Return this machine's address in its network, or nothing without one; no packet is sent to learn it."""
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe:
        try:
            probe.connect(("192.0.2.1", 9))
        except OSError:
            return ""
        return str(probe.getsockname()[0])


class Supervisor:
    """The parent: starts, watches, restarts and ends the two children."""

    def __init__(
        self, listener: socket.socket, environment: Mapping[str, str], *, shown: list[str], workers: int
    ) -> None:
        self.listener = listener
        self.workers = workers
        self.environment = dict(environment)
        self.shown = shown  # the addresses to print once the first answer comes
        self.pause_s = 1.0
        self.runner_started_s = 0.0
        self.web: subprocess.Popen[bytes]
        self.runner: subprocess.Popen[bytes] | None = None

    def run(self) -> int:
        """Work until told to stop (0) or until the web server ends by itself (1)."""
        signal.pthread_sigmask(signal.SIG_BLOCK, WATCHED)
        self.web = self._start(*self._web_command())
        self._start_runner()
        told = False
        while True:
            caught = signal.sigtimedwait(WATCHED, TICK_S)
            if caught is not None and caught.si_signo in STOP_SIGNALS:
                return self._end_all(0)
            if self.web.poll() is not None:
                _say(f"The web server ended by itself (code {self.web.returncode}); ending everything.")
                return self._end_all(1)
            self._keep_runner()
            if not told and self._answers():
                told = True
                _say("Ready: " + "  ".join(self.shown) + "  (Ctrl-C ends everything)")

    def _web_command(self) -> list[str]:
        # Processes, not threads: with SQLite they give the steadiest answers. A worker serves one request at
        # a time, so anything slow belongs in a job.
        options = ["--workers", str(self.workers), "--worker-class", "sync", "--timeout", "60", "--preload"]
        quiet = ["--graceful-timeout", "10", "--log-level", "warning", "--no-control-socket"]
        bind = ["--bind", f"fd://{self.listener.fileno()}"]
        return [sys.executable, "-m", "gunicorn", "shop_qc.wsgi:application", *bind, *options, *quiet]

    def _start(self, *command: str) -> subprocess.Popen[bytes]:
        parent = os.getpid()

        def in_the_child() -> None:
            signal.pthread_sigmask(signal.SIG_SETMASK, ())
            _die_with(parent)

        return subprocess.Popen(  # noqa: S603 - our own command lines
            command,
            cwd=ROOT,
            env=self.environment,
            pass_fds=[self.listener.fileno()] if "gunicorn" in command else [],
            # A session of their own: Ctrl-C reaches the parent only, which ends them in order.
            start_new_session=True,
            preexec_fn=in_the_child,  # noqa: PLW1509 - the parent has no threads
        )

    def _start_runner(self) -> None:
        self.runner_started_s = time.monotonic()
        self.runner = self._start(sys.executable, str(ROOT / "manage.py"), "run_jobs")

    def _keep_runner(self) -> None:
        if self.runner is None:
            if time.monotonic() - self.runner_started_s > self.pause_s:
                self._start_runner()
            return
        if self.runner.poll() is None:
            return
        lived_s = time.monotonic() - self.runner_started_s
        # One that dies at once is not restarted in a tight loop.
        self.pause_s = 1.0 if lived_s > LONGEST_PAUSE_S else min(2 * self.pause_s, LONGEST_PAUSE_S)
        _say(f"The job runner ended (code {self.runner.returncode}); next start in {self.pause_s:.0f} s.")
        self.runner_started_s = time.monotonic()
        self.runner = None

    def _answers(self) -> bool:
        host, port = self.listener.getsockname()[:2]
        host = {"0.0.0.0": "127.0.0.1", "::": "::1"}.get(host, host)  # noqa: S104 - where it listens
        asked = http.client.HTTPConnection(host, port, timeout=2)
        try:
            asked.request("GET", "/health/", headers={"Host": "localhost"})
            return asked.getresponse().status > 0
        except OSError:
            return False
        finally:
            asked.close()

    def _end_all(self, code: int) -> int:
        children = [child for child in (self.web, self.runner) if child is not None]
        for child in children:
            _signal_group(child, signal.SIGTERM)
        self.listener.close()
        deadline = time.monotonic() + STOP_WITHIN_S
        for child in children:
            while child.poll() is None and time.monotonic() < deadline:
                again = signal.sigtimedwait(WATCHED, TICK_S)
                if again is not None and again.si_signo in STOP_SIGNALS:
                    deadline = 0.0  # asked twice: at once
        for child in children:
            _signal_group(child, signal.SIGKILL)  # whatever is left of the group
            child.wait()
        return code


def _signal_group(child: subprocess.Popen[bytes], number: signal.Signals) -> None:
    with contextlib.suppress(ProcessLookupError):  # all of it has ended
        os.killpg(child.pid, number)


def _die_with(parent: int) -> None:
    """In a child: be ended when the parent is, even by a kill that it cannot catch (Linux)."""
    if sys.platform == "linux":
        ctypes.CDLL(None).prctl(PR_SET_PDEATHSIG, signal.SIGTERM)
    if os.getppid() != parent:
        os._exit(1)


def _say(line: str) -> None:
    sys.stdout.write(line + "\n")
    sys.stdout.flush()


def main(arguments: list[str]) -> int:
    """Serve until told to stop.

    With `--check`, only say whether that could be. With `--hold N`, lock the data folder for whoever opened
    it as descriptor N: `deploy/start`, while it sets up.
    """
    try:
        host = env.text("HOST", "127.0.0.1")
        port = env.whole_number("PORT", 8000, least=1, most=65535)
        workers = env.whole_number("WEB_WORKERS", 2, least=1, most=64)
        folder = env.folder("DATA_DIR", ROOT / "data")
        if "--hold" in arguments:
            opening.hold(int(arguments[-1]), folder)
            return 0
        if "--check" in arguments:
            opening.check_folder(folder)  # first: the port is taken by the same tool, as a rule
            opening.listen(host, port).close()
            return 0
        opening.hold_folder(folder)  # never closed: ours until we end
        listener = opening.listen(host, port)
    except (env.SettingNotUnderstood, opening.PortTaken, opening.FolderTaken) as problem:
        sys.stderr.write(f"{problem}\n")
        return 1
    names = reachable_names(host)
    environment = {"ALLOWED_HOSTS": ",".join(names)} | {k: v for k, v in os.environ.items() if v}
    shown = [f"http://{name}:{port}/" for name in names if name not in {"localhost", "[::1]"}]
    return Supervisor(listener, environment, shown=shown, workers=workers).run()


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
