"""A PostgreSQL server of its own for tests: made in a temporary folder, reached by nobody else, then gone."""

from __future__ import annotations

import itertools
import os
import shutil
import signal
import socket
import subprocess
import tempfile
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from sqlalchemy import Engine, create_engine, text
from sqlalchemy.pool import NullPool

NONE_HERE = "LEFT OUT: no PostgreSQL server here"
_OWNER = "laydown"
_UNPRIVILEGED = "postgres"  # PostgreSQL refuses to run as root


def programs() -> Path | None:
    """The folder of PostgreSQL's own programs, the newest of several; None where there are none."""
    packaged = Path("/usr/lib/postgresql").glob("*/bin/initdb")
    for found in sorted(packaged, key=lambda path: int(path.parts[-3]), reverse=True):
        return found.parent
    on_path = shutil.which("initdb")
    return Path(on_path).resolve().parent if on_path else None


class Server:
    """A cluster in ``folder``; ``address(name)`` is what ``open_records`` takes."""

    def __init__(self, folder: Path, bin_folder: Path) -> None:
        self.folder = folder
        self._bin = bin_folder
        self._port = 5432 if os.name == "posix" else _free_port()
        self._numbers = itertools.count(1)
        self._as: dict[str, Any] = {}
        if os.name == "posix" and os.geteuid() == 0:
            shutil.chown(folder, _UNPRIVILEGED, _UNPRIVILEGED)
            self._as = {"user": _UNPRIVILEGED, "group": _UNPRIVILEGED, "extra_groups": []}

    def initialise(self) -> None:
        """Make the cluster. Nothing is flushed: what is in it need not outlive a power cut."""
        auth = ("--auth=trust", f"--username={_OWNER}", "--encoding=UTF8", "--no-locale", "--no-sync")
        self._run("initdb", f"--pgdata={self.folder / 'data'}", *auth)

    def start(self) -> None:
        """Start, and wait until it answers."""
        where = (
            f"-c listen_addresses='' -c unix_socket_directories='{self.folder}'"
            if os.name == "posix"
            else "-c listen_addresses=127.0.0.1"
        )
        options = f"-p {self._port} {where} -c fsync=off -c max_connections=120 -c log_min_messages=panic"
        log = str(self.folder / "log")
        self._run(
            "pg_ctl", "start", "-w", "-t", "60", "-D", str(self.folder / "data"), "-l", log, "-o", options
        )

    def stop(self, mode: str = "fast") -> None:
        """Stop; ``immediate`` is as if the server had been killed."""
        self._run("pg_ctl", "stop", "-w", "-t", "60", "-D", str(self.folder / "data"), "-m", mode)

    def address(self, database: str) -> str:
        """The address of one of its databases."""
        if os.name == "posix":
            return f"postgresql://{_OWNER}@/{database}?host={self.folder}&port={self._port}"
        return f"postgresql://{_OWNER}@127.0.0.1:{self._port}/{database}"

    def new_database(self, *, template: str = "template0") -> str:
        """Make a database and give its name."""
        name = f"db{next(self._numbers)}"
        self._say(f"CREATE DATABASE {name} TEMPLATE {template}")
        return name

    def drop_database(self, name: str) -> None:
        """Take a database away, whoever still uses it."""
        self._say(f"DROP DATABASE IF EXISTS {name} WITH (FORCE)")

    def _say(self, statement: str) -> None:
        engine: Engine = create_engine(
            self.address("postgres").replace("postgresql:", "postgresql+psycopg:"),
            isolation_level="AUTOCOMMIT",
            poolclass=NullPool,
        )
        with engine.connect() as connection:
            connection.execute(text(statement))

    def _run(self, program: str, *words: str) -> None:
        # pg_ctl leaves the server running with the output it was given, so that a pipe would never end.
        with (self.folder / "said").open("w+") as said:
            done = subprocess.run(
                [str(self._bin / program), *words],
                cwd=self.folder,
                stdout=said,
                stderr=subprocess.STDOUT,
                stdin=subprocess.DEVNULL,
                timeout=120,
                check=False,
                **self._as,
            )
            said.seek(0)
            if done.returncode != 0:
                raise RuntimeError(f"{program} {words[0]}: {said.read()}")


@contextmanager
def private_server() -> Iterator[Server]:
    """A running server, stopped and deleted at the end.

    Raises
    ------
    LookupError
        PostgreSQL is not installed here, or there is nobody it may run as.
    """
    found = programs()
    if found is None or not (found / "pg_ctl").with_suffix(".exe" if os.name == "nt" else "").exists():
        raise LookupError(NONE_HERE)
    # Not below pytest's own folder: the path of a socket may have about a hundred characters.
    folder = Path(tempfile.mkdtemp(prefix="laydown-pg-"))
    _end_tidily()
    try:
        try:
            server = Server(folder, found)
        except LookupError:  # run by root, and no such user
            raise LookupError(NONE_HERE) from None
        server.initialise()
        server.start()
        try:
            yield server
        finally:
            server.stop("immediate")
    finally:
        shutil.rmtree(folder, ignore_errors=True)


def _end_tidily() -> None:
    """Let a run that is told to end (by ``timeout``, say) end as by Ctrl+C, or its server stays behind."""
    here = threading.current_thread() is threading.main_thread()
    if here and signal.getsignal(signal.SIGTERM) is signal.SIG_DFL:
        signal.signal(signal.SIGTERM, signal.default_int_handler)


def _free_port() -> int:
    with socket.socket() as listener:
        listener.bind(("127.0.0.1", 0))
        return int(listener.getsockname()[1])
