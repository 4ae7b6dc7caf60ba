"""Kills workers at random moments and sees what is left of what they said they had kept."""

from __future__ import annotations

import json
import os
import random
import signal
import subprocess
import sys
import threading
import time
from collections.abc import Callable
from contextlib import closing
from dataclasses import dataclass, field
from pathlib import Path
from queue import Empty, Queue
from typing import Any

from laydown.records.opening import open_records
from laydown.records.verifying import verify

WORKER = Path(__file__).parent / "kill_worker.py"
MOST_ACTS = 12  # that are waited for
LONGEST = 0.06  # seconds a worker lives after that: about what an act or two take


@dataclass
class Tally:
    """What was seen over all rounds.

    ``unsaid`` acts were kept, and their worker killed before it could say so. ``strays`` are files of acts
    that were not kept. ``losses`` is what must stay empty.
    """

    kills: int = 0
    acts: int = 0
    unsaid: int = 0
    files: int = 0
    strays: int = 0
    refusals: int = 0
    losses: list[str] = field(default_factory=list)


class Killing:
    """Rounds of working, killing and looking, on one set of records. Use it in a ``with`` block."""

    def __init__(self, address: str, files: Path, *, seed: int) -> None:
        self.address = address
        self.files = files
        self.tally = Tally()
        self._choose = random.Random(seed)
        self._entries = 0
        self._said: dict[str, int] = {}
        self._lines: Queue[str] = Queue()

    def __enter__(self) -> Killing:
        open_records(self.address, str(self.files)).close()  # so that workers need not make the tables
        self._starter = subprocess.Popen(
            [sys.executable, str(WORKER), self.address, str(self.files)],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            text=True,
        )
        threading.Thread(target=self._read, daemon=True).start()
        return self

    def __exit__(self, *_: object) -> None:
        assert self._starter.stdin is not None
        self._starter.stdin.close()
        self._starter.wait(30)
        assert self._starter.stdout is not None
        self._starter.stdout.close()

    def round(self, end: Callable[[int], None] | None = None) -> None:
        """Let a worker work, end it at a random moment, and see that nothing it said is lost."""
        assert self._starter.stdin is not None
        self._starter.stdin.write(f"{self._choose.randrange(2**30)}\n")
        self._starter.stdin.flush()
        worker = int(self._line().removeprefix("worker "))
        acts = [json.loads(self._line()) for _ in range(self._choose.randint(1, MOST_ACTS))]
        time.sleep(self._choose.uniform(0, LONGEST))
        (end or _kill)(worker)
        while (line := self._line()) != "gone":
            acts.append(json.loads(line))
        self.tally.kills += 1
        self._check([act for act in acts if "entry" in act])
        for refused in (act["refused"] for act in acts if "refused" in act):
            self.tally.refusals += 1
            if "nothing was changed" not in refused and "may have been kept or not" not in refused:
                self.tally.losses.append(f"an odd refusal: {refused}")

    def _check(self, acts: list[dict[str, Any]]) -> None:
        losses = self.tally.losses
        with closing(open_records(self.address, str(self.files))) as records:
            with records.writing():
                pass  # a server may still be busy with what a killed worker asked of it last
            with records.look() as look:
                newest = look.entries(limit=1)[0].seq
                for act in acts:
                    entry = look.entry(act["entry"])
                    if (entry.seq, len(entry.changes)) != (act["seq"], act["changes"]):
                        losses.append(f"entry {entry.seq} is not what was said")
                    for sha256 in act["files"]:
                        look.read_file(sha256)
                    self._said[act["entry"]] = act["seq"]
            found = verify(records)
            self.tally.strays = len([*records.vault.all(), *records.vault.half_received()]) - found.files
        losses += [f"{trouble.where}: {trouble.what}" for trouble in found.troubles]
        # one act may have been kept and killed before it could be said, no more
        unsaid = newest - self._entries - len(acts)
        if not 0 <= unsaid <= 1:
            losses.append(f"{unsaid} acts were kept that nobody said")
        self._entries = newest
        self.tally.acts += len(acts)
        self.tally.unsaid += unsaid
        self.tally.files = found.files

    def check_all(self) -> None:
        """See once more that every act ever said is there."""
        with closing(open_records(self.address, str(self.files))) as records, records.look() as look:
            kept = {entry.id: entry.seq for entry in look.entries(limit=10**9)}
        for entry, seq in self._said.items():
            if kept.get(entry) != seq:
                self.tally.losses.append(f"entry {seq} is lost")

    def _read(self) -> None:
        assert self._starter.stdout is not None
        for line in self._starter.stdout:
            self._lines.put(line.rstrip("\n"))

    def _line(self) -> str:
        try:
            return self._lines.get(timeout=60)
        except Empty:
            raise AssertionError("the worker says nothing any more") from None


def _kill(worker: int) -> None:
    os.kill(worker, signal.SIGKILL)
