"""Opening the workbench: loopback only, the next free port, quick to start."""

from __future__ import annotations

import os
import socket
import subprocess
import sys
from pathlib import Path

import httpx
import pytest
from fastapi import FastAPI

from laydown.kernel.errors import BadSetting, RefusedInput
from laydown.web.network import Network
from laydown.web.serve import Lan, address_of, free_socket, serve


def _no_app(network: Network | None) -> FastAPI:
    raise AssertionError("nothing is to be served here")


def test_a_certificate_without_its_key_is_said(tmp_path: Path) -> None:
    with pytest.raises(BadSetting, match="needs its key"):
        serve(
            port=0,
            make=_no_app,
            data_folder=tmp_path,
            open_browser=False,
            lan=Lan(certificate=tmp_path / "c.pem"),
        )


def test_a_taken_port_picks_the_next() -> None:
    with free_socket("127.0.0.1", 0) as first:
        port = first.getsockname()[1]
        with free_socket("127.0.0.1", port) as second:
            assert port < second.getsockname()[1] < port + 50
            assert second.getsockname()[0] == "127.0.0.1"
            assert address_of(second) == f"http://127.0.0.1:{second.getsockname()[1]}/"


def test_answers_are_not_held_back_to_be_sent_together() -> None:
    """asyncio switches that off (TCP_NODELAY) only on what an explicitly named TCP socket accepts."""
    with free_socket("127.0.0.1", 0) as listener, socket.create_connection(listener.getsockname()):
        accepted, _ = listener.accept()
        with accepted:
            assert (listener.proto, accepted.proto) == (socket.IPPROTO_TCP, socket.IPPROTO_TCP)


def test_no_port_at_all_is_said() -> None:
    with free_socket("127.0.0.1", 65535) as last:
        assert last.getsockname()[1] == 65535
        with pytest.raises(BadSetting, match="no port"):
            free_socket("127.0.0.1", 65535)


@pytest.mark.parametrize("port", [-1, 65536, 99999])
def test_a_port_that_is_none_is_said(port: int, tmp_path: Path) -> None:
    with pytest.raises(BadSetting, match="Ports go up to 65535"):
        serve(port=port, make=_no_app, data_folder=tmp_path, open_browser=False)


def test_a_data_folder_that_cannot_be_made_is_said(tmp_path: Path) -> None:
    file = tmp_path / "file"
    file.write_text("x")
    for folder in (file, file / "below", Path("/proc/nope")):
        if os.name != "posix" and folder.parts[0] == "/":
            continue
        with pytest.raises(RefusedInput, match="nothing can be kept in this data folder") as refused:
            serve(port=0, make=_no_app, data_folder=folder, open_browser=False)
        assert str(folder) in str(refused.value)


LIGHT = """
import sys
import laydown.web.app, laydown.web.serve
heavy = {"plotly", "vl_convert", "typst", "scipy.stats", "matplotlib", "pandas"} & set(sys.modules)
assert not heavy, heavy
"""


def test_importing_loads_nothing_heavy() -> None:
    subprocess.run([sys.executable, "-c", LIGHT], check=True, timeout=60)


def test_it_is_there_and_ends_cleanly(tmp_path: Path) -> None:
    with free_socket("127.0.0.1", 0) as probe:
        port = probe.getsockname()[1]
    with subprocess.Popen(
        [sys.executable, "-m", "laydown", "open", "--no-browser", "--port", str(port)],
        stdout=subprocess.PIPE,
        text=True,
        env={**os.environ, "LAYDOWN_DATA": str(tmp_path), "LAYDOWN_WORKERS": "1"},
    ) as process:
        try:
            assert process.stdout is not None
            address = process.stdout.readline().split()[3]
            assert httpx.get(address).status_code == 200
            with pytest.raises(OSError), socket.create_connection(("127.0.0.2", port), timeout=2):
                pass
        finally:
            process.terminate()
        assert process.wait(10) in (0, -15, 1)
