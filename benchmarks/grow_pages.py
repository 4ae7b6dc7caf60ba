"""How long pages take with a thousand trials and twenty thousand sheets in the records.

    python benchmarks/grow_pages.py --trials 1000
    python benchmarks/grow_pages.py --trials 1000 --database postgresql://user@host/name

Fills an empty database (throw-away SQLite if none is named) step by step, and at each step asks for
every kind of page several times over loopback, one after the other; the demo trial is among the trials.
Times are those of the whole answer as a browser waits for it.
"""

from __future__ import annotations

import argparse
import gc
import statistics
import tempfile
import threading
import time
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

import httpx
import uvicorn

from laydown.records.ledger import Records
from laydown.records.opening import open_records
from laydown.records.trial_facts import load_facts
from laydown.records.uploads import UploadStore
from laydown.trials.measured import Reading
from laydown.trials.seals import seal_of
from laydown.trials.sheets import BenchRun, Sheet, SheetEvent
from laydown.trials.stock import Lot, Medium, Roll
from laydown.trials.studio import Printer
from laydown.trials.trial import Brief, Candidate, Plan, Trial
from laydown.usecases.compare_media import CompareOptions
from laydown.usecases.trial.seed_demo import seed_demo
from laydown.web.app import create_app
from laydown.web.serve import address_of, free_socket

CANDIDATES, SHEETS = 4, 5
RUNNING = 40  # of each step; the others are closed, as in a studio that has been at it for years
STEPS = (100, 300, 1000, 3000)


def fill(records: Records, first: int, last: int) -> None:
    """Trials ``first`` to ``last``, each with 20 sheets, printed and half of them measured."""
    for number in range(first, last):
        with records.work("set up", who="benchmark", words=f"trial {number}") as work:
            medium = work.add(Medium(id=f"m{number}", name=f"Medium {number} (invented)"))
            lot = work.add(Lot(id=f"l{number}", medium_id=medium.id, code=f"L-{number}"))
            roll = work.add(
                Roll(id=f"r{number}", lot_id=lot.id, form="roll", width_mm=432.0, length_mm=6096.0)
            )
            printer = work.add(Printer(id=f"p{number}", name=f"Printer {number} (invented)"))
            day = date(2020, 1, 1) + timedelta(days=number)
            closed = None if number >= last - RUNNING else work.now
            trial = work.add(Trial(id=f"t{number}", name=f"Trial {number}", begun=day, closed_at=closed))
            brief = Brief(id=f"b{number}", trial_id=trial.id, question="Which?", sealed_by="benchmark")
            at = datetime(day.year, day.month, day.day, 9, tzinfo=UTC)
            work.add(_sealed(brief, at))
            work.add(Plan(id=f"plan{number}", trial_id=trial.id, sheets_per_candidate=SHEETS))
            for position in range(CANDIDATES):
                _candidate(work, trial.id, f"{number}-{position}", position, at, medium, lot, roll, printer)


def _sealed(brief: Brief, at: datetime) -> Brief:
    from dataclasses import replace

    return replace(brief, sealed_at=at, seal=seal_of(brief, at=at, by="benchmark"))


def _candidate(work, trial_id, key, position, at, medium, lot, roll, printer) -> None:  # type: ignore[no-untyped-def]
    candidate = work.add(
        Candidate(
            id=f"c{key}",
            trial_id=trial_id,
            medium_id=medium.id,
            lot_id=lot.id,
            roll_id=roll.id,
            printer_id=printer.id,
            name=f"Candidate {position}",
            house=position == 0,
            position=position,
        )
    )
    run = work.add(
        BenchRun(
            id=f"run{key}", trial_id=trial_id, candidate_id=candidate.id, printer_id=printer.id, begun_at=at
        )
    )
    for turn in range(SHEETS):
        place = position * SHEETS + turn + 1
        sheet = work.add(
            Sheet(
                id=f"s{key}-{turn}",
                trial_id=trial_id,
                candidate_id=candidate.id,
                code=f"{'ABCD'[position]}{turn + 1}",
                place=place,
                run_id=run.id,
            )
        )
        work.add(SheetEvent(id=f"e{key}-{turn}", trial_id=trial_id, sheet_id=sheet.id, at=at, kind="printed"))
        if turn % 2 == 0:
            work.add(
                Reading(
                    id=f"g{key}-{turn}",
                    trial_id=trial_id,
                    sheet_id=sheet.id,
                    source="dropped",
                    file_name=f"{sheet.code}.txt",
                    file_sha256="0" * 64,
                    received_at=at + timedelta(days=2),
                    measured_at=at + timedelta(days=2),
                    conditions=("M1",),
                    patches=703,
                )
            )


def pages(records: Records, count: int) -> list[str]:
    """One of each kind of page, of a trial in the middle and of the demo trial."""
    middle = f"t{count // 2}"
    stations = (
        *("", "/brief", "/plan", "/plan/order", "/plan/material", "/plan/calendar", "/print", "/settle"),
        *("/measure", "/comparisons", "/candidates", "/stickers", "/look", "/archive"),
    )
    with records.look() as look:
        demo = load_facts(look, "demo-trial")
    run = next(one for one in demo.runs)
    return [
        *("/", "/?page=3", "/board", "/stock", "/stock/media", "/printers", "/retraces"),
        *("/journal", "/journal?page=20", f"/journal?trial={middle}"),
        *("/search?q=medium", "/search?q=B2", "/comparisons"),
        *("/api/v1/trials", f"/api/v1/trials/{middle}"),
        *(f"/trials/{middle}{station}" for station in stations),
        *(f"/trials/demo-trial{station}" for station in stations),
        f"/trials/{middle}/sheets/s{count // 2}-1-0",
        f"/trials/demo-trial/sheets/{demo.readings[0].sheet_id}",
        f"/trials/demo-trial/readings/{demo.readings[0].id}",
        f"/trials/demo-trial/candidates/{run.candidate_id}",
        f"/trials/demo-trial/candidates/{run.candidate_id}/take-over",
        f"/bench/{run.id}",
        f"/bench/{run.id}/recipe",
    ]


def main() -> None:
    """Fill, ask, say."""
    options = argparse.ArgumentParser(description=__doc__)
    options.add_argument("--trials", type=int, default=1000)
    options.add_argument("--database", default="")
    options.add_argument("--times", type=int, default=7)
    told = options.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        database = told.database or f"sqlite:///{(Path(folder) / 'records.sqlite').as_posix()}"
        records = open_records(database, str(Path(folder) / "files"))
        seed_demo(records)
        app = create_app(
            store=UploadStore(Path(folder) / "uploads", clock=lambda: datetime.now(UTC)),
            records=records,
            secret=b"benchmark",
            demo=lambda: ((), CompareOptions()),
        )
        listener = free_socket("127.0.0.1", 0)
        server = uvicorn.Server(uvicorn.Config(app, log_level="error", access_log=False))
        serving = threading.Thread(target=server.run, kwargs={"sockets": [listener]})
        serving.start()
        kept = 0
        for step in [one for one in STEPS if one < told.trials] + [told.trials]:
            begun = time.perf_counter()
            fill(records, kept, step)
            took = time.perf_counter() - begun
            print(f"\n{step} trials, {step * CANDIDATES * SHEETS} sheets; filled in {took:.1f} s", flush=True)
            kept = step
            gc.collect()
            gc.freeze()  # a server has not filled anything, and has frozen what it loaded (see web/making.py)
            _ask(address_of(listener), pages(records, step), told.times)
        server.should_exit = True
        serving.join(20)
        listener.close()
        records.close()


def _ask(address: str, wanted: list[str], times: int) -> None:
    slowest = []
    with httpx.Client(base_url=address, timeout=60, headers={"Accept": "text/html"}) as client:
        for path in wanted:
            took = []
            for _ in range(times):
                begun = time.perf_counter()
                answer = client.get(path)
                took.append((time.perf_counter() - begun) * 1e3)
            if answer.status_code != 200:
                print(f"NOT SHOWN: {path} answers {answer.status_code}")
                continue
            slowest.append((statistics.median(took), max(took), path, len(answer.content)))
    print(f"{'median':>8} {'most':>8} ms   {'size':>8} kB")
    for median, most, path, size in sorted(slowest, reverse=True):
        print(f"{median:8.1f} {most:8.1f}      {size / 1024:8.1f}   {path}")


if __name__ == "__main__":
    main()
