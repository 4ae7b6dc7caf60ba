"""Fifty tablets at the bench, reading and posting at once against ``laydown open --lan``: how quick?

    python benchmarks/tablets.py --minutes 5
    python benchmarks/tablets.py --minutes 5 --database postgresql://user@host/name

Each tablet is paired, works on one of ten trials of 60 sheets, and does one thing about every second,
as at the bench: it opens the board, a checklist, the print or settle station, ticks a step, prints a
sheet, writes a note. Load and server share this computer, on loopback. Everything is thrown away
afterwards, except that records in a named database stay there.
"""

from __future__ import annotations

import argparse
import asyncio
import os
import random
import re
import subprocess
import sys
import tempfile
import time
from collections import defaultdict
from dataclasses import dataclass, field, replace
from datetime import date
from pathlib import Path

import httpx
import numpy as np

from laydown.records.ledger import Records
from laydown.records.opening import open_records
from laydown.records.trial_facts import load_facts
from laydown.trials.seals import seal_of
from laydown.trials.stock import Medium
from laydown.trials.studio import Printer
from laydown.trials.trial import Brief, Candidate, Plan, Trial
from laydown.usecases.bench.begin_run import begin_run
from laydown.usecases.bench.run_steps import run_steps, wants_value
from laydown.usecases.people.accounts import make_account
from laydown.usecases.people.sign_in import offer_pairing
from laydown.usecases.trial.draw_sheets import draw_sheets

PORT = 8977
TRIALS, CANDIDATES, SHEETS = 10, 5, 12
READS = ("/board", "/trials/{trial}/print", "/bench/{run}", "/trials/{trial}/settle", "/trials/{trial}")


@dataclass
class Work:
    """What one tablet works on."""

    trial: str
    run: str
    token: str
    steps: list[str]
    sheets: list[str] = field(default_factory=list)
    ticked: set[str] = field(default_factory=set)


@dataclass
class Seen:
    """How long each kind of request took, in s, and what went wrong."""

    took: dict[str, list[float]] = field(default_factory=lambda: defaultdict(list))
    wrong: list[str] = field(default_factory=list)


def prepare(records: Records, tablets: int) -> list[Work]:
    """Trials ready to be printed, a bench run for every tablet, and a code that pairs it."""
    make_account(records, name="Ada", role="owner", password="heron kettle seven paving", who="benchmark")
    with records.work("set up", who="benchmark") as work:
        printers = [
            work.add(Printer(id=records.new_id(), name=f"Bench printer {n} (invented)"))
            for n in range(TRIALS * CANDIDATES)
        ]
        medium = work.add(Medium(id=records.new_id(), name="Fenland Rag (invented)"))
    prepared: list[Work] = []
    for number in range(TRIALS):
        trial_id = _trial(records, number, medium.id, [one.id for one in printers])
        with records.look() as look:
            facts = load_facts(look, trial_id)
        for candidate in facts.candidates:
            run = begin_run(records, candidate.id, who="benchmark").thing
            with records.look() as look:
                every = run_steps(load_facts(look, trial_id), run)
            steps = [step.id for step in every if not wants_value(step)]
            sheets = [sheet.id for sheet in facts.sheets_of(candidate.id) if sheet.use == "test"]
            token = offer_pairing(records, name=f"Tablet {len(prepared) + 1}", role="bench", who="Ada")
            prepared.append(Work(trial_id, run.id, token, steps, sheets))
    return prepared[:tablets]


def _trial(records: Records, number: int, medium_id: str, printer_ids: list[str]) -> str:
    with records.work("set up", who="benchmark") as work:
        trial = work.add(Trial(id=records.new_id(), name=f"Trial {number}", begun=date(2026, 3, 2)))
        brief = Brief(id=records.new_id(), trial_id=trial.id, question="Which?")
        seal = seal_of(brief, at=work.now, by="benchmark")
        work.add(replace(brief, sealed_at=work.now, sealed_by="benchmark", seal=seal))
        for position in range(CANDIDATES):
            work.add(
                Candidate(
                    id=records.new_id(),
                    trial_id=trial.id,
                    medium_id=medium_id,
                    printer_id=printer_ids[number * CANDIDATES + position],
                    name=f"Candidate {position}",
                    house=position == 0,
                    position=position,
                )
            )
        work.add(Plan(id=records.new_id(), trial_id=trial.id, sheets_per_candidate=SHEETS))
    draw_sheets(records, trial.id, who="benchmark")
    return trial.id


async def tablet(number: int, work: Work, ends: float, seen: Seen, pause: float) -> None:
    """One tablet: paired, then one thing after the other until the time is over."""
    chance = random.Random(number)
    address = f"http://127.0.0.1:{PORT}"
    async with httpx.AsyncClient(base_url=address, headers={"Origin": address}, timeout=30) as client:
        await asyncio.sleep(pause * number / 50)
        answer = await client.post(f"/pair/{work.token}")
        assert answer.status_code == 303, answer.text
        csrf = (await client.get("/api/v1/me")).json()["token"]
        head = {"X-CSRF-Token": csrf}
        while time.monotonic() < ends:
            await asyncio.sleep(chance.uniform(0.5, 1.5) * pause)
            if chance.random() < 0.55:
                kind = chance.choice(READS)
                await _ask(client, seen, f"read {kind}", "GET", kind.format(trial=work.trial, run=work.run))
            elif work.sheets and chance.random() < 0.25:
                path = f"/api/v1/sheets/{work.sheets.pop()}/printed"
                await _ask(client, seen, "post print", "POST", path, head, json={"run_id": work.run})
            elif chance.random() < 0.5:
                step = chance.choice(work.steps)
                path = f"/api/v1/runs/{work.run}/ticks/{step}"
                if step in work.ticked:
                    work.ticked.remove(step)
                    await _ask(client, seen, "post untick", "DELETE", path, head)
                else:
                    work.ticked.add(step)
                    await _ask(client, seen, "post tick", "PUT", path, head, json={})
            else:
                told = {"about": work.run, "words": f"noted {chance.random():.9f}", "csrf": csrf, "back": "/"}
                await _ask(client, seen, "post note", "POST", "/notes", head, data=told)


async def _ask(
    client: httpx.AsyncClient,
    seen: Seen,
    kind: str,
    method: str,
    path: str,
    head: object = None,
    **body: object,
) -> None:
    begun = time.perf_counter()
    try:
        answer = await client.request(method, path, headers=head, **body)  # type: ignore[arg-type]
    except httpx.HTTPError as error:
        seen.wrong.append(f"{method} {path}: {type(error).__name__}")
        return
    seen.took[kind].append(time.perf_counter() - begun)
    if answer.status_code >= 400:
        words = re.sub(r"<[^>]+>|\s+", " ", answer.text)
        seen.wrong.append(f"{method} {path}: {answer.status_code} {words[-200:]}")


def main() -> None:
    """Serve, let the tablets work, and say how it went."""
    options = argparse.ArgumentParser(description=__doc__)
    options.add_argument("--minutes", type=float, default=5.0)
    options.add_argument("--tablets", type=int, default=50)
    options.add_argument("--processes", type=int, default=2)
    options.add_argument("--pause", type=float, default=1.0, help="mean seconds between two acts of a tablet")
    options.add_argument(
        "--database", default="", help="an empty database; SQLite in a throw-away folder if none"
    )
    told = options.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        database = told.database or f"sqlite:///{(Path(folder) / 'records.sqlite').as_posix()}"
        records = open_records(database, str(Path(folder) / "files"))
        works = prepare(records, told.tablets)
        settings = {
            **os.environ,
            "LAYDOWN_DATA": folder,
            "LAYDOWN_DATABASE": database,
            "LAYDOWN_WORKERS": "1",
        }
        command = [sys.executable, "-m", "laydown", "open", "--lan", "--no-browser", "--port", str(PORT)]
        command += ["--processes", str(told.processes)]
        server = subprocess.Popen(command, env=settings, stdout=subprocess.DEVNULL)
        try:
            _wait()
            seen = asyncio.run(_work(works, told.minutes * 60, told.pause))
        finally:
            server.terminate()
            server.wait(30)
        with records.look() as look:
            acts = look.entries(limit=1)[0].seq
        records.close()
    _say(seen, told, acts, "PostgreSQL" if told.database.startswith("postgres") else "SQLite")


async def _work(works: list[Work], seconds: float, pause: float) -> Seen:
    seen, ends = Seen(), time.monotonic() + seconds
    await asyncio.gather(*(tablet(n, work, ends, seen, pause) for n, work in enumerate(works)))
    return seen


def _wait() -> None:
    for _ in range(100):
        try:
            httpx.get(f"http://127.0.0.1:{PORT}/sign-in")
        except httpx.HTTPError:
            time.sleep(0.2)
        else:
            time.sleep(2)  # until the second process is there too
            return
    raise SystemExit("The workbench does not answer.")


def _say(seen: Seen, told: argparse.Namespace, acts: int, database: str) -> None:
    every = [one for group in seen.took.values() for one in group]
    served = f"{database}, {told.processes} processes"
    print(f"{served}, {told.tablets} tablets, {told.minutes:g} min, pause {told.pause:g} s")
    print(f"{len(every)} requests ({len(every) / told.minutes / 60:.0f}/s), {acts} acts in the journal")
    print(f"{'kind':32} {'n':>6} {'median':>8} {'95 %':>8} {'99 %':>8} {'most':>8}  ms")
    for kind, took in [*sorted(seen.took.items()), ("all", every)]:
        low, high, higher = np.percentile(took, [50, 95, 99]) * 1e3
        print(f"{kind:32} {len(took):6} {low:8.1f} {high:8.1f} {higher:8.1f} {max(took) * 1e3:8.1f}")
    print(f"errors: {len(seen.wrong)}")
    for line in seen.wrong[:10]:
        print("  ", line)


if __name__ == "__main__":
    main()
