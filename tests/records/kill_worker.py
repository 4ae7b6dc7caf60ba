"""Works on records at random until it is killed, and tells each act once it is kept.

Run as a program: ``kill_worker.py ADDRESS FILES``. For each line "SEED" on its input it starts a worker and
prints "worker PID"; the worker prints one line of JSON for each act, after it was kept. In the end: "gone".
"""

from __future__ import annotations

import json
import os
import random
import sys
from dataclasses import replace
from datetime import UTC, date, datetime
from typing import Any

from laydown.kernel.errors import CannotKeep
from laydown.records.ledger import Records
from laydown.records.opening import open_records
from laydown.records.work import Work
from laydown.trials.measured import Reading
from laydown.trials.remarks import Attachment, Note
from laydown.trials.seals import seal_of
from laydown.trials.sheets import Sheet, SheetEvent
from laydown.trials.stock import Medium
from laydown.trials.trial import Brief, Candidate, Trial

SHEETS = 8


class Worker:
    """Does one random act after another on a trial of its own."""

    def __init__(self, records: Records, seed: int) -> None:
        self.records = records
        self.choose = random.Random(seed)
        self.trial = records.new_id()
        self.acts: list[str] = []

    def run(self) -> None:
        """Work until killed."""
        self._begin()
        while True:
            act = self.choose.choice((self._import, self._edit, self._happen, self._attach, self._undo))
            act()

    def _begin(self) -> None:
        """A whole trial in one work: all of it or nothing."""
        with self.records.work("begins", who="worker", trial_id=self.trial) as work:
            work.add(Trial(id=self.trial, name=self.trial, begun=date(2026, 3, 2)))
            medium = work.add(Medium(id=self.records.new_id(), name="Rag"))
            own = self.records.new_id()
            work.add(Candidate(id=own, trial_id=self.trial, medium_id=medium.id, name="Rag"))
            brief = Brief(id=self.records.new_id(), trial_id=self.trial)
            seal = seal_of(brief, at=work.now, by="worker")
            work.add(replace(brief, sealed_at=work.now, sealed_by="worker", seal=seal))
            for number in range(SHEETS):
                sheet = Sheet(
                    id=f"{self.trial}{number}", trial_id=self.trial, candidate_id=own, code=f"S{number}"
                )
                work.add(sheet)
                printed = SheetEvent(
                    id=self.records.new_id(),
                    trial_id=self.trial,
                    sheet_id=sheet.id,
                    at=work.now,
                    kind="printed",
                )
                work.add(printed)
        self._tell(work)

    def _import(self) -> None:
        """Several readings with their files, as dropped together."""
        files: list[str] = []
        with self.records.work("imports", who="worker", trial_id=self.trial) as work:
            for _ in range(self.choose.randint(1, 4)):
                files.append(work.keep_file(self._content()))
                work.add(
                    Reading(
                        id=self.records.new_id(),
                        trial_id=self.trial,
                        sheet_id=self._sheet(),
                        source="dropped",
                        file_name="sheet.txt",
                        file_sha256=files[-1],
                        received_at=work.now,
                    )
                )
        self._tell(work, files)

    def _attach(self) -> None:
        """A photograph that arrives in pieces before the work begins, as from a page."""
        content = self._content()
        kept = self.records.vault.keep_stream(
            content[start : start + 5000] for start in range(0, len(content), 5000)
        )
        with self.records.work("attaches", who="worker", trial_id=self.trial) as work:
            work.note_file(kept.sha256, kept.size)
            work.add(
                Attachment(
                    id=self.records.new_id(),
                    trial_id=self.trial,
                    about=self._sheet(),
                    kind="photograph",
                    name="p.jpg",
                    size=kept.size,
                    sha256=kept.sha256,
                    at=work.now,
                )
            )
        self._tell(work, [kept.sha256])

    def _edit(self) -> None:
        with self.records.work("edits", who="worker", trial_id=self.trial) as work:
            sheet = work.get(Sheet, self._sheet())
            work.change(replace(sheet, words=f"{sheet.words} seen {work.seq}"[-400:]))
        self._tell(work)

    def _happen(self) -> None:
        with self.records.work("handles", who="worker", trial_id=self.trial) as work:
            sheet = self._sheet()
            event = SheetEvent(
                id=self.records.new_id(), trial_id=self.trial, sheet_id=sheet, at=work.now, kind="handled"
            )
            work.add(event)
            work.add(
                Note(id=self.records.new_id(), trial_id=self.trial, about=sheet, at=work.now, words="bent")
            )
        self._tell(work)

    def _undo(self) -> None:
        """Undo the last act that was not undone, an edit being on top of nothing but older ones."""
        if not self.acts:
            return
        with self.records.work("undoes", who="worker", trial_id=self.trial) as work:
            work.put_back(work.entry(self.acts.pop()))
        self._tell(work, again=False)

    def _tell(self, work: Work, files: list[str] | None = None, *, again: bool = True) -> None:
        if again and len(work.act.changes) != 2 + SHEETS * 2 + 2:  # not the beginning: others stand on it
            self.acts.append(work.entry_id)
        told: dict[str, Any] = {
            "entry": work.entry_id,
            "seq": work.seq,
            "changes": len(work.act.changes),
            "files": files or [],
        }
        sys.stdout.write(json.dumps(told) + "\n")
        sys.stdout.flush()

    def _sheet(self) -> str:
        return f"{self.trial}{self.choose.randrange(SHEETS)}"

    def _content(self) -> bytes:
        return self.choose.randbytes(self.choose.choice((0, 100, 20_000, 300_000)))


def work(address: str, files: str, seed: int) -> None:
    """Be a worker; a server that goes away ends it, having said so."""
    try:
        Worker(open_records(address, files, clock=lambda: datetime.now(UTC)), seed).run()
    except CannotKeep as error:
        sys.stdout.write(json.dumps({"refused": str(error)}) + "\n")
        sys.stdout.flush()


def main() -> None:
    """Start workers as asked, each a fork of this process, so that nothing has to be imported again."""
    address, files = sys.argv[1:3]
    for line in sys.stdin:
        child = os.fork()
        if child == 0:
            work(address, files, int(line))
            os._exit(0)
        sys.stdout.write(f"worker {child}\n")
        sys.stdout.flush()
        os.waitpid(child, 0)
        sys.stdout.write("gone\n")
        sys.stdout.flush()


if __name__ == "__main__":
    main()
