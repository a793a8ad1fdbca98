"""What a running tool needs for itself alone: a port to listen on and a folder for the shop's data.

Both are tried before anything is set up or started, so that a taken one is told at once and in words.
Standard library only: it runs before anything is installed.
"""

from __future__ import annotations

import errno
import fcntl
import os
import socket
from pathlib import Path

from shop_qc.env import SettingNotUnderstood


class PortTaken(OSError):
    """The address cannot be opened; the message says why and what to do."""


class FolderTaken(OSError):
    """Another tool works on the data folder; the message says what to do."""


def listen(host: str, port: int) -> socket.socket:
    """Open the port, or say in words why that cannot be."""
    family = socket.AF_INET6 if ":" in host else socket.AF_INET
    try:
        listener = socket.create_server((host, port), family=family, backlog=512)
    except OSError as problem:
        raise PortTaken(_why_not(host, port, problem)) from problem
    # Browsers open connections ahead of need and leave them silent; each would hold one of our few workers.
    # The kernel hands a connection over only once its request has begun to arrive (or after an hour).
    if hasattr(socket, "TCP_DEFER_ACCEPT"):
        listener.setsockopt(socket.IPPROTO_TCP, socket.TCP_DEFER_ACCEPT, 3600)
    return listener


def _why_not(host: str, port: int, problem: OSError) -> str:
    if problem.errno == errno.EACCES:
        cure = "Ports below 1024 are for the administrator; choose another: PORT=8000 deploy/start"
    elif problem.errno == errno.EADDRINUSE:
        cure = f"Stop what uses it, or choose another: PORT={port % 65535 + 1} deploy/start"
    else:
        cure = (
            "HOST must be an address of this machine: 127.0.0.1 for itself only, 0.0.0.0 for the tablets, too"
        )
    # Negative ones are the resolver's, which found no such name.
    reason = os.strerror(problem.errno) if problem.errno and problem.errno > 0 else "no such address"
    return f"Port {port} on {host} cannot be opened: {reason}. {cure}"


def check_folder(folder: Path) -> None:
    """Say in words if the data folder cannot be written or made, or if another tool works on it."""
    if folder.is_dir():
        os.close(hold_folder(folder))
    nearest = next(place for place in (folder, *folder.parents) if place.exists())
    if not nearest.is_dir():
        raise SettingNotUnderstood("DATA_DIR", str(folder), f"{nearest} is a file; name another folder.")
    # Asked of the system rather than read from the mode: it also knows disks that can only be read.
    if not os.access(nearest, os.R_OK | os.W_OK | os.X_OK):
        cure = f"Nothing can be written in {nearest}. Give yourself the right to, or name another folder."
        raise SettingNotUnderstood("DATA_DIR", str(folder), cure)


def hold_folder(folder: Path) -> int:
    """Keep every other tool off the data folder while the returned descriptor is open.

    The lock is on the folder itself: no file is left behind, and it ends with the process, however that ends.
    """
    try:
        descriptor = os.open(folder, os.O_RDONLY | os.O_DIRECTORY)
    except OSError as problem:
        cure = f"It cannot be opened: {os.strerror(problem.errno or 0)}."
        raise SettingNotUnderstood("DATA_DIR", str(folder), cure) from problem
    try:
        hold(descriptor, folder)
    except OSError:
        os.close(descriptor)
        raise
    return descriptor


def hold(descriptor: int, folder: Path) -> None:
    """Lock the folder by a descriptor of it that was opened before, by a shell for one."""
    try:
        fcntl.flock(descriptor, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except BlockingIOError as problem:
        raise FolderTaken(
            f"A measuring room is at work on {folder} already. Use that one, or end it first with Ctrl-C "
            "where it runs. For a second shop: DATA_DIR=./second PORT=8001 deploy/start"
        ) from problem
    except OSError as problem:
        raise FolderTaken(
            f"{folder} cannot be locked ({os.strerror(problem.errno or 0)}). The data folder must be on a "
            "local disk, not on a network share: name another with DATA_DIR."
        ) from problem
