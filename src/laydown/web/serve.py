"""Opens the workbench on this computer: finds a free port, says where, opens a browser."""

from __future__ import annotations

import os
import socket
import sys
import threading
import webbrowser
from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path
from tempfile import TemporaryFile

from laydown.compute.runner import Runner
from laydown.kernel.errors import BadSetting, RefusedInput
from laydown.records.ledger import Records

LOOPBACK = ("127.0.0.1", "::1", "localhost")
PORTS_TRIED = 50
_LAST_PORT = 65535


def serve(
    *,
    port: int,
    host: str = "127.0.0.1",
    data_folder: Path,
    records: Records,
    secret: bytes,
    runner: Runner,
    open_browser: bool,
    say: Callable[[str], None] | None = None,
) -> None:
    """Serve the workbench until it is interrupted.

    Parameters
    ----------
    port
        Where to listen; a taken one picks the next that is free.
    host
        A loopback name. The workbench has no passwords, so it serves nobody else.
    data_folder
        Where uploads are kept; made if need be.
    records
        Where trials are kept.
    secret
        Signs what pages send back.
    runner
        Does the counting.
    open_browser
        Whether to open the page in a browser.
    say
        Shows a line, such as the address; on the terminal where none is given.

    Raises
    ------
    BadSetting
        ``host`` is not a loopback name, ``port`` is none, or no port near it is free.
    RefusedInput
        The data folder cannot be made or written to.
    """
    if host not in LOOPBACK:
        raise BadSetting(
            f'the workbench does not serve "{host}".',
            todo="It has no passwords; use 127.0.0.1, this computer only.",
        )
    import uvicorn

    from laydown.records.uploads import UploadStore
    from laydown.web.app import create_app
    from laydown.web.demo import demo_request

    _make_ready(data_folder)
    listener = free_socket(host, port)
    app = create_app(
        store=UploadStore(data_folder, clock=lambda: datetime.now(UTC)),
        records=records,
        secret=secret,
        runner=runner,
        demo=lambda: demo_request(data_folder),
    )
    say = say or _on_terminal
    address = address_of(listener)
    server = uvicorn.Server(uvicorn.Config(app, log_level="warning", access_log=False, server_header=False))
    say(f"Laydown is at {address}  (Ctrl+C ends it)")
    say(f"Uploads are kept in {data_folder}")
    if open_browser:
        threading.Timer(0.5, webbrowser.open, [address]).start()
    with listener:
        server.run(sockets=[listener])


def _make_ready(data_folder: Path) -> None:
    """Make the data folder, and be sure that files can be kept in it."""
    try:
        data_folder.mkdir(parents=True, exist_ok=True)
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
        listener = socket.socket(family, socket.SOCK_STREAM)
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
