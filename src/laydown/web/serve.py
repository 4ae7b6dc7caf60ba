"""Opens the workbench, on this computer or on the studio's network: finds a free port, says where."""

from __future__ import annotations

import os
import socket
import sys
import threading
import webbrowser
from collections.abc import Callable
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from tempfile import TemporaryFile
from typing import TYPE_CHECKING

from laydown.kernel.errors import BadSetting, RefusedInput
from laydown.records.private_folder import make_private_folder

if TYPE_CHECKING:
    from fastapi import FastAPI

    from laydown.web.network import Network

HERE = "127.0.0.1"
EVERYWHERE = "0.0.0.0"
PORTS_TRIED = 50
MOST_AT_ONCE = 400  # connections to a process; beyond that it says that it is busy
_LAST_PORT = 65535


@dataclass(frozen=True, slots=True)
class Lan:
    """Serving the studio's network: by how many processes, and with which certificate (none: unencrypted)."""

    processes: int = 2
    certificate: Path | None = None
    key: Path | None = None


def serve(
    *,
    port: int,
    make: Callable[[Network | None], FastAPI],
    data_folder: Path,
    open_browser: bool,
    lan: Lan | None = None,
    first_page: str = "",
    say: Callable[[str], None] | None = None,
) -> None:
    """Serve the workbench until it is interrupted.

    Parameters
    ----------
    port
        Where to listen; a taken one picks the next that is free.
    make
        Makes the application; called once in every process that serves, so it must survive pickling.
    data_folder
        Where everything is kept; made if need be.
    open_browser
        Whether to open the page in a browser.
    lan
        How to serve the studio's network; without it this computer alone is served.
    first_page
        Which page the browser opens, such as ``trials/demo-trial``.
    say
        Shows a line, such as the address; on the terminal where none is given.

    Raises
    ------
    BadSetting
        ``port`` is none, no port near it is free, or the certificate cannot be used.
    RefusedInput
        The data folder cannot be made or written to.
    """
    import uvicorn
    from uvicorn.supervisors import Multiprocess

    say = say or _on_terminal
    if lan:
        _check_certificate(lan)
    _make_ready(data_folder)
    listener = free_socket(EVERYWHERE if lan else HERE, port)
    network = _network(lan, listener.getsockname()[1]) if lan else None
    config = uvicorn.Config(
        partial(make, network),
        factory=True,
        log_level="warning",
        access_log=False,
        server_header=False,
        limit_concurrency=MOST_AT_ONCE,
        workers=lan.processes if lan else 1,
        ssl_certfile=lan.certificate if lan else None,
        ssl_keyfile=lan.key if lan else None,
    )
    address = f"{network.scheme}://{network.reached_at}/" if network else address_of(listener)
    say(f"Laydown is at {address}  (Ctrl+C ends it)")
    say(f"Everything is kept in {data_folder}")
    if network and not network.tls:
        say("Passwords cross this network unencrypted: use one you trust, or give --certificate and --key.")
    if open_browser:
        threading.Timer(0.5, webbrowser.open, [address + first_page]).start()
    with listener:
        if lan and lan.processes > 1:
            Multiprocess(config, sockets=[listener]).run()
        else:
            uvicorn.Server(config).run(sockets=[listener])


def _check_certificate(lan: Lan) -> None:
    if (lan.certificate is None) != (lan.key is None):
        raise BadSetting("a certificate needs its key.", todo="Give both --certificate and --key.")
    for file in (lan.certificate, lan.key):
        if file is not None and not file.is_file():
            raise BadSetting("there is no such file.", todo="Check --certificate and --key.", file=str(file))


def _network(lan: Lan, port: int) -> Network:
    from laydown.web.network import Network, own_names
    from laydown.web.security import LOOPBACK_NAMES

    names = own_names()
    reached_at = f"{names[0]}:{port}" if names else f"{HERE}:{port}"
    return Network(frozenset({*names, *LOOPBACK_NAMES}), reached_at, lan.certificate is not None)


def _make_ready(data_folder: Path) -> None:
    """Make the data folder, and be sure that files can be kept in it."""
    try:
        make_private_folder(data_folder)
        with TemporaryFile(dir=data_folder):
            pass
    except OSError as error:
        why = "it is a file, not a folder" if data_folder.is_file() else error.strerror or "not possible"
        raise RefusedInput(
            f"nothing can be kept in this data folder ({why}).",
            todo="Name another in LAYDOWN_DATA.",
            file=str(data_folder),
        ) from error


def _on_terminal(line: str) -> None:
    sys.stdout.write(f"{line}\n")
    sys.stdout.flush()


def free_socket(host: str, port: int) -> socket.socket:
    """A listening socket at the port, or at the next free one; the socket is held, so nobody can take it.

    Raises
    ------
    BadSetting
        ``port`` is none, or none of the next fifty ports is free.
    """
    if not 0 <= port <= _LAST_PORT:
        raise BadSetting(f"{port} is no port.", todo=f"Ports go up to {_LAST_PORT}.")
    family = socket.AF_INET6 if host == "::1" else socket.AF_INET
    for candidate in range(port, min(port + PORTS_TRIED, _LAST_PORT + 1)):
        # Named as TCP, or asyncio lets answers wait up to 40 ms for the other side to confirm their heads.
        listener = socket.socket(family, socket.SOCK_STREAM, socket.IPPROTO_TCP)
        if (
            os.name == "posix"
        ):  # so that a port left a moment ago is free; elsewhere it would share a used one
            listener.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            listener.bind((host, candidate))
            listener.listen()
        except OSError:
            listener.close()
            continue
        return listener
    raise BadSetting(
        f"no port from {port} to {min(port + PORTS_TRIED - 1, _LAST_PORT)} is free.",
        todo="Name another with --port.",
    )


def address_of(listener: socket.socket) -> str:
    """The address a browser finds the socket at."""
    host, port = listener.getsockname()[:2]
    return f"http://[{host}]:{port}/" if ":" in host else f"http://{host}:{port}/"
