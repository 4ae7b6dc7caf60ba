"""Grows a studio's records to many sheets and says how long what people do then takes.

python benchmarks/grow_records.py --trials 100 --sheets 200            # 20 000 sheets, SQLite
python benchmarks/grow_records.py --trials 100 --sheets 200 --database postgresql

The records are grown by large works without asking for contradictions, so that it does not take hours. Then
are timed: one work on one sheet (with the question for contradictions, journal and flush to the disk),
all facts of a trial, a page of the journal, a backup, a restore, verify; and the memory these took at most.
"""

from __future__ import annotations

import argparse
import itertools
import statistics
import sys
import tempfile
import time
import tracemalloc
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import replace
from datetime import UTC, date, datetime
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "tests"))

from laydown.records.backup import back_up
from laydown.records.engine import sqlite_url
from laydown.records.ledger import Records
from laydown.records.opening import open_records
from laydown.records.restoring import restore
from laydown.records.trial_facts import load_facts
from laydown.records.verifying import verify
from laydown.records.work import Work
from laydown.trials.measured import Reading
from laydown.trials.remarks import Note
from laydown.trials.seals import seal_of
from laydown.trials.sheets import Sheet, SheetEvent
from laydown.trials.stock import Medium
from laydown.trials.trial import Brief, Candidate, Trial
from private_postgresql import private_server

CANDIDATES = 10
FILE = b"0.123 0.456 0.789\n" * 1000


def grow(records: Records, *, trials: int, sheets: int) -> None:
    """As many trials with as many sheets, each printed and measured once."""
    careless = Records(records.engine, records.vault)
    numbers = itertools.count()
    for trial in range(trials):
        with careless.work("begins", who="grower", trial_id=f"t{trial}") as work:
            work.add(Trial(id=f"t{trial}", name=f"Trial {trial}", begun=date(2026, 1, 1)))
            work.add(Medium(id=f"m{trial}", name=f"Medium {trial}"))
            brief = Brief(id=f"b{trial}", trial_id=f"t{trial}")
            seal = seal_of(brief, at=work.now, by="grower")
            work.add(replace(brief, sealed_at=work.now, sealed_by="grower", seal=seal))
            for number in range(CANDIDATES):
                own = f"c{trial}-{number}"
                work.add(
                    Candidate(id=own, trial_id=f"t{trial}", medium_id=f"m{trial}", name=f"Candidate {number}")
                )
        for start in range(0, sheets, 20):
            with careless.work("prints", who="grower", trial_id=f"t{trial}") as work:
                for number in range(start, min(start + 20, sheets)):
                    _sheet(work, trial, number, next(numbers))


def _sheet(work: Work, trial: int, number: int, file: int) -> None:
    own, of = f"s{trial}-{number}", f"t{trial}"
    candidate = f"c{trial}-{number % CANDIDATES}"
    work.add(Sheet(id=own, trial_id=of, candidate_id=candidate, code=f"S{number}", place=number + 1))
    work.add(SheetEvent(id=f"e{own}", trial_id=of, sheet_id=own, at=work.now, kind="printed"))
    sha256 = work.keep_file(FILE + str(file).encode())
    work.add(
        Reading(
            id=f"r{own}",
            trial_id=of,
            sheet_id=own,
            source="dropped",
            file_name=f"{number}.txt",
            file_sha256=sha256,
            received_at=work.now,
            conditions=("M0", "M1"),
            patches=918,
        )
    )


def timed(what: str, act: Callable[[], object], *, times: int = 20) -> None:
    """The median and the longest of several times, in milliseconds."""
    took = []
    for _ in range(times):
        began = time.perf_counter()
        act()
        took.append((time.perf_counter() - began) * 1000)
    print(f"{what:52} median {statistics.median(took):8.1f} ms, longest {max(took):8.1f} ms", flush=True)


def measured(what: str, act: Callable[[], object]) -> None:
    """Seconds, and the most memory that Python took on top, seen in a second run."""
    began = time.perf_counter()
    act()
    seconds = time.perf_counter() - began
    tracemalloc.start()
    act()
    _, peak = tracemalloc.get_traced_memory()
    tracemalloc.stop()
    print(f"{what:52} {seconds:8.1f} s, {peak / 2**20:.0f} MB at most", flush=True)


def note(records: Records, *, trial: int) -> None:
    """One act on one sheet, as from the bench."""
    with records.work("notes", who="bench", trial_id=f"t{trial}") as work:
        now = datetime.now(UTC)
        work.add(Note(id=records.new_id(), trial_id=f"t{trial}", about=f"s{trial}-1", at=now, words="bent"))


def hand_in(records: Records, *, trial: int) -> None:
    """One act that adds a file and a sheet event."""
    with records.work("hands in", who="bench", trial_id=f"t{trial}") as work:
        sheet = f"s{trial}-2"
        work.keep_file(FILE + records.new_id().encode())
        work.add(
            SheetEvent(id=records.new_id(), trial_id=f"t{trial}", sheet_id=sheet, at=work.now, kind="handled")
        )


def look(records: Records, *, trial: int) -> None:
    """All facts of one trial."""
    with records.look() as look:
        load_facts(look, f"t{trial}")


def journal(records: Records, *, trial: int) -> None:
    """A page of the journal of one trial."""
    with records.look() as look:
        look.entries(trial_id=f"t{trial}")


@contextmanager
def addresses(kind: str, folder: Path) -> Iterator[Callable[[], str]]:
    """Gives new databases of the kind asked for."""
    numbers = itertools.count()
    if kind == "sqlite":
        yield lambda: sqlite_url(folder / f"{next(numbers)}.sqlite")
        return
    with private_server() as server:
        yield lambda: server.address(server.new_database())


def main() -> None:
    """Grow, and time."""
    asked = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    asked.add_argument("--trials", type=int, default=100)
    asked.add_argument("--sheets", type=int, default=200)
    asked.add_argument("--database", choices=["sqlite", "postgresql"], default="sqlite")
    said = asked.parse_args()
    with tempfile.TemporaryDirectory() as name, addresses(said.database, Path(name)) as new_address:
        folder = Path(name)
        records = open_records(new_address(), str(folder / "files"))
        began = time.perf_counter()
        grow(records, trials=said.trials, sheets=said.sheets)
        print(f"{said.database}: {said.trials * said.sheets} sheets in {said.trials} trials, grown in "
              f"{time.perf_counter() - began:.0f} s")  # fmt: skip
        middle = said.trials // 2
        timed("a note (one work)", lambda: note(records, trial=middle))
        timed("an event with a file (one work)", lambda: hand_in(records, trial=middle))
        timed("all facts of one trial", lambda: look(records, trial=middle))
        timed("a page of a trial's journal", lambda: journal(records, trial=middle))
        measured("verify", lambda: verify(records))
        numbers = itertools.count()
        measured("backup", lambda: back_up(records, folder / f"{next(numbers)}.zip"))
        print(f"{'':52} {(folder / '0.zip').stat().st_size / 2**20:8.1f} MB on the disk")

        def take_back() -> None:
            elsewhere = open_records(new_address(), str(folder / "elsewhere"))
            restore(elsewhere, folder / "0.zip")
            elsewhere.close()

        measured("restore", take_back)
        records.close()


if __name__ == "__main__":
    main()
