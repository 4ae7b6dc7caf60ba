"""How long the first page and a search take with a thousand trials and twenty thousand sheets.

    python benchmarks/first_page_and_search.py [FOLDER]

Fills records in FOLDER once (a minute), then measures with the clock of the processor, so that other work on
the machine does not count.
"""

from __future__ import annotations

import statistics
import sys
import tempfile
import time
from collections.abc import Callable
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

from laydown.records.engine import sqlite_url
from laydown.records.ledger import Records
from laydown.records.opening import open_records
from laydown.trials.measured import Doubt, Reading
from laydown.trials.sheets import Sheet, SheetEvent
from laydown.trials.stock import Medium
from laydown.trials.trial import Candidate, Plan, Trial
from laydown.usecases.trial.list_trials import list_trials
from laydown.usecases.trial.search import search
from laydown.web.rendering import render
from laydown.web.views.frame import Frame
from laydown.web.views.home import home_view

TRIALS, CANDIDATES, SHEETS, READ = 1000, 5, 20, 10
QUERIES = ("K7", "k", "trial 9", "sheet trial 55", "nothing", "é")


def fill(records: Records) -> None:
    """A thousand trials, every one printed and half read."""
    now = datetime.now(UTC)
    records.check = None  # a thousand times nothing contradicts itself
    with records.work("filled", who="benchmark") as work:
        for number in range(CANDIDATES):
            work.add(Medium(id=f"m{number}", name=f"Medium {number}"))
    for number in range(TRIALS):
        trial = f"t{number}"
        with records.work("began", who="benchmark", trial_id=trial) as work:
            work.add(Trial(id=trial, name=f"Trial {number}", begun=date(2026, 1, 1)))
            work.add(Plan(id=f"p{number}", trial_id=trial))
            for place in range(CANDIDATES):
                work.add(Candidate(id=f"{trial}-c{place}", trial_id=trial, medium_id=f"m{place}",
                                   name=f"Candidate {place}", position=place))  # fmt: skip
            printed = now - timedelta(hours=number % 40 + 5)
            asked = (Doubt(kind="x", words="w", question="q"),) if number % 3 == 0 else ()
            for place in range(SHEETS):
                code, arm = f"{'CEHJKLNPRT'[place % 10]}{2 + place // 3}", f"{trial}-c{place % CANDIDATES}"
                own = f"{trial}-s{place}"
                work.add(Sheet(id=own, trial_id=trial, candidate_id=arm, code=code, place=place + 1))
                work.add(SheetEvent(id=f"e{own}", trial_id=trial, sheet_id=own, at=printed, kind="printed"))
                if place < READ:
                    reading = Reading(id=f"r{own}", trial_id=trial, sheet_id=own, source="dropped",
                                      file_name="f.txt", file_sha256="0" * 64, received_at=now)  # fmt: skip
                    work.add(replace(reading, doubts=asked if place == 1 else ()))


def measured(work: Callable[[], object]) -> str:
    """Median and longest of nine times."""
    times = []
    for _ in range(9):
        begun = time.process_time()
        work()
        times.append(1000 * (time.process_time() - begun))
    return f"{statistics.median(times):5.0f} ms, at most {max(times):.0f} ms"


def main() -> None:
    """Fill if need be, then measure."""
    folder = Path(sys.argv[1] if len(sys.argv) > 1 else tempfile.mkdtemp())
    folder.mkdir(parents=True, exist_ok=True)
    records = open_records(sqlite_url(folder / "records.sqlite"), str(folder / "files"))
    with records.look() as look:
        filled = look.count(Trial) > 0
    if not filled:
        fill(records)
    frame = Frame(person=None, lan=False, token="", done=None, here="/")

    def first_page() -> str:
        view = home_view(list_trials(records), now=records.now(), demo_id="demo")
        return render("home.html", view, frame=frame)

    print(f"{'first page':<24}{measured(first_page)}")
    for query in QUERIES:
        took = measured(lambda query=query: search(records, query, role="owner"))  # type: ignore[misc]  # a query each
        print(f"{'search ' + query:<24}{took}")
    records.close()


if __name__ == "__main__":
    main()
