"""The comparison of a trial's sheets behind an address: what its id says, and what it asks for now."""

from __future__ import annotations

import re
import threading
from dataclasses import dataclass
from typing import cast

from laydown.kernel.errors import RefusedInput
from laydown.records.ledger import Records
from laydown.records.trial_facts import load_facts
from laydown.usecases.measuring.sorting import WAYS, By
from laydown.usecases.measuring.trial_comparison import TrialRequest, trial_request

_ID = re.compile(rf"trial-(.+)-({'|'.join(WAYS)})(?:-(M[0-3]))?")
_KEPT = 50


@dataclass(frozen=True, slots=True)
class TrialComparisonId:
    """Which comparison of which trial: sorted by what, and judged under which condition, "" for the usual."""

    trial_id: str
    by: By
    condition: str = ""

    def __str__(self) -> str:
        end = f"-{self.condition}" if self.condition else ""
        return f"trial-{self.trial_id}-{self.by}{end}"


def trial_comparison_id(text: str) -> TrialComparisonId | None:
    """What an id such as "trial-k7x2-medium-M1" says; None where it is another kind of id."""
    found = _ID.fullmatch(text)
    return None if found is None else TrialComparisonId(found[1], cast("By", found[2]), found[3] or "")


class TrialRequests:
    """What each comparison of a trial asks for, put together anew whenever anything was written.

    The page of one comparison asks dozens of times, once for each figure.
    """

    def __init__(self) -> None:
        self._known: dict[str, tuple[int, TrialRequest]] = {}
        self._lock = threading.Lock()

    def of(self, records: Records, wanted: TrialComparisonId) -> TrialRequest:
        """What the comparison asks for now.

        Raises
        ------
        UnknownRecord
            There is no such trial.
        """
        key = str(wanted)
        with records.look() as look:
            newest = next((entry.seq for entry in look.entries(limit=1)), 0)
            with self._lock:
                known = self._known.get(key)
            if known is not None and known[0] == newest:
                return known[1]
            facts = load_facts(look, wanted.trial_id)
            told = trial_request(look, facts, by=wanted.by, condition=wanted.condition)
        with self._lock:
            self._known[key] = (newest, told)
            while len(self._known) > _KEPT:
                self._known.pop(next(iter(self._known)))
        return told


def refuse_nothing(told: TrialRequest, by: By) -> None:
    """Refuse a comparison of no readings in words that say what is missing.

    Raises
    ------
    RefusedInput
        No reading is in it.
    """
    if told.files:
        return
    missing = {
        "finish": "no medium was measured coated and uncoated.",
        "coat": "no coated sheet was measured.",
    }.get(by, "no reading can be used yet.")
    raise RefusedInput(missing, todo="The measuring page of the trial says what each reading waits for.")
