"""Kills workers (and a server) many times while they work, and counts what is lost. It must be nothing.

python benchmarks/kill_while_working.py --kills 200 --database sqlite
python benchmarks/kill_while_working.py --kills 200 --database postgresql [--server-kills 20]

Each round a worker imports readings with their files, attaches photographs, edits, undoes and notes what
happens to sheets, printing a line after each act that was kept. It is killed (-9) at a random moment; then
every act that was said must be there, every file it refers to, and ``verify`` must find nothing wrong.
"""

from __future__ import annotations

import argparse
import sys
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

TESTS = Path(__file__).resolve().parents[1] / "tests"
sys.path[:0] = [str(TESTS), str(TESTS / "records")]

from killing import Killing, Tally  # noqa: E402 - the tests' own, found by the line above

from private_postgresql import Server, private_server  # noqa: E402

ROUNDS = 25  # on one set of records; then a new one, so that verifying does not take longer and longer


@contextmanager
def address_in(folder: Path, server: Server | None) -> Iterator[str]:
    """A new database of the kind asked for."""
    if server is None:
        yield f"sqlite:///{(folder / 'records.sqlite').as_posix()}"
        return
    name = server.new_database()
    yield server.address(name)
    server.drop_database(name)


def kill(kills: int, *, server: Server | None, of_server: bool, seed: int) -> list[Tally]:
    """As many kills as asked for; what was seen on each set of records."""

    def crash(_: int) -> None:
        assert server is not None
        server.stop("immediate")
        server.start()

    tallies = []
    for start in range(0, kills, ROUNDS):
        with tempfile.TemporaryDirectory() as name, address_in(Path(name), server) as address:
            with Killing(address, Path(name) / "files", seed=seed + start) as killing:
                for _ in range(min(ROUNDS, kills - start)):
                    killing.round(crash if of_server else None)
                killing.check_all()
            tallies.append(killing.tally)
            print(".", end="", flush=True)
    print()
    return tallies


def show(what: str, tallies: list[Tally], seconds: float) -> None:
    """One line for all rounds, and every loss."""
    names = ("kills", "acts", "unsaid", "files", "strays", "refusals")
    counts = ", ".join(f"{name} {sum(getattr(one, name) for one in tallies)}" for name in names)
    losses = [loss for one in tallies for loss in one.losses]
    print(f"{what}: {counts}, losses {len(losses)} ({seconds:.0f} s)")
    for loss in losses:
        print(f"  LOST: {loss}")


def main() -> int:
    """Kill, count, and end with 1 where anything was lost."""
    asked = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    asked.add_argument("--kills", type=int, default=200)
    asked.add_argument("--server-kills", type=int, default=0)
    asked.add_argument("--database", choices=["sqlite", "postgresql"], default="sqlite")
    asked.add_argument("--seed", type=int, default=1)
    said = asked.parse_args()
    lost = 0
    if said.database == "sqlite":
        lost += timed("sqlite, worker killed", said.kills, None, of_server=False, seed=said.seed)
    else:
        with private_server() as server:
            lost += timed("postgresql, worker killed", said.kills, server, of_server=False, seed=said.seed)
            if said.server_kills:
                killed = "postgresql, server killed"
                lost += timed(killed, said.server_kills, server, of_server=True, seed=said.seed)
    return 1 if lost else 0


def timed(what: str, kills: int, server: Server | None, *, of_server: bool, seed: int) -> int:
    """Kill and show; how much was lost."""
    began = time.monotonic()
    tallies = kill(kills, server=server, of_server=of_server, seed=seed)
    show(what, tallies, time.monotonic() - began)
    return sum(len(one.losses) for one in tallies)


if __name__ == "__main__":
    raise SystemExit(main())
