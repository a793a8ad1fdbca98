"""What is told when the port, the data folder or a setting cannot be had, and who may have the folder."""

from __future__ import annotations

import os
import socket
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest

from shop_qc import opening, serve
from shop_qc.env import SettingNotUnderstood
from tests.conftest import ROOT, ShopFolder
from tests.shop_qc.test_serve import free_port

Check = Callable[..., tuple[int, str]]


@pytest.fixture
def check(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str], tmp_path: Path) -> Check:
    """Ask whether the tool could start with these settings; the exit code and what was told."""

    def asked(**settings: str) -> tuple[int, str]:
        monkeypatch.delenv("HOST", raising=False)
        for name, value in ({"PORT": str(free_port()), "DATA_DIR": str(tmp_path)} | settings).items():
            monkeypatch.setenv(name, value)
        return serve.main(["--check"]), capsys.readouterr().err

    return asked


def test_a_taken_port_is_told_in_words(check: Check) -> None:
    with socket.create_server(("127.0.0.1", 0)) as taken:
        port = taken.getsockname()[1]
        code, told = check(PORT=str(port))
    assert code == 1
    assert f"Port {port} on 127.0.0.1 cannot be opened: Address already in use." in told
    assert f"PORT={port + 1} deploy/start" in told


@pytest.mark.parametrize("host", ["203.0.113.9", "no-such-name.invalid"])
def test_an_address_of_another_machine_is_not_blamed_on_the_port(check: Check, host: str) -> None:
    code, told = check(HOST=host)
    assert code == 1
    assert host in told
    assert "HOST must be an address of this machine" in told


def test_a_port_only_the_administrator_may_open_is_told_with_another(monkeypatch: pytest.MonkeyPatch) -> None:
    def refused(*_given: object, **_more: object) -> socket.socket:
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr(socket, "create_server", refused)  # the tests may run as the administrator
    with pytest.raises(opening.PortTaken, match=r"Ports below 1024 .* PORT=8000 deploy/start"):
        opening.listen("127.0.0.1", 80)


def test_settings_that_are_no_numbers_are_told_in_words(check: Check) -> None:
    assert check(PORT="http") == (
        1,
        "PORT is 'http', which cannot be used. Give a whole number from 1 to 65535.\n",
    )
    code, told = check(WEB_WORKERS="many")
    assert code == 1
    assert told.startswith("WEB_WORKERS is 'many'")


def test_a_free_port_and_a_folder_yet_to_be_made_are_right_and_nothing_is_made(
    check: Check, tmp_path: Path
) -> None:
    assert check(DATA_DIR=str(tmp_path / "a" / "b c")) == (0, "")
    assert list(tmp_path.iterdir()) == []


def test_a_data_folder_below_a_file_is_told(check: Check, tmp_path: Path) -> None:
    (tmp_path / "file").touch()
    code, told = check(DATA_DIR=str(tmp_path / "file" / "data"))
    assert code == 1
    assert f"{tmp_path / 'file'} is a file" in told


def test_a_folder_nobody_may_write_in_is_told_before_anything_is_made(check: Check) -> None:
    code, told = check(DATA_DIR="/proc/self/data")  # read-only even for the administrator
    assert code == 1
    assert (
        "DATA_DIR is '/proc/self/data', which cannot be used. Nothing can be written in /proc/self." in told
    )


def test_a_second_tool_on_the_same_folder_is_refused_until_the_first_lets_go(
    check: Check, tmp_path: Path
) -> None:
    held = opening.hold_folder(tmp_path)
    code, told = check()
    assert code == 1
    assert f"A measuring room is at work on {tmp_path} already." in told
    with pytest.raises(opening.FolderTaken):
        opening.hold_folder(tmp_path)
    os.close(held)
    assert check() == (0, "")
    assert list(tmp_path.iterdir()) == []  # no lock file to back up or to go stale


def test_the_lock_of_a_shell_lasts_as_long_as_the_shell_has_the_folder_open(tmp_path: Path) -> None:
    script = f"""
        exec 8<"{tmp_path}"
        {sys.executable} -m shop_qc.serve --hold 8 || exit 3
        {sys.executable} -m shop_qc.serve --check && exit 4
        exec 8<&-
        {sys.executable} -m shop_qc.serve --check || exit 5
    """
    environment = os.environ | {"DATA_DIR": str(tmp_path), "PORT": str(free_port()), "HOST": ""}
    done = subprocess.run(
        ["/bin/sh", "-c", script], cwd=ROOT, env=environment, capture_output=True, text=True, check=False
    )
    assert done.returncode == 0, done.stderr
    assert done.stderr.count("is at work on") == 1


def test_the_server_itself_refuses_a_folder_in_use(shop_folder: ShopFolder) -> None:
    held = opening.hold_folder(shop_folder.data)
    try:
        done = subprocess.run(
            [sys.executable, "-m", "shop_qc.serve"],
            cwd=ROOT,
            env=shop_folder.environment | {"PORT": str(free_port())},
            capture_output=True,
            text=True,
            check=False,
            timeout=60,
        )
    finally:
        os.close(held)
    assert done.returncode == 1
    assert "is at work on" in done.stderr


def test_a_folder_that_cannot_be_opened_is_told(tmp_path: Path) -> None:
    with pytest.raises(SettingNotUnderstood, match="cannot be opened: No such file"):
        opening.hold_folder(tmp_path / "none")
