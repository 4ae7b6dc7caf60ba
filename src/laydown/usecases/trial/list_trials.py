"""The list of trials, page by page, with everything known about those that are running."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from laydown.records.ledger import Records
from laydown.records.trial_facts import STUDIO_ID, load_many_facts
from laydown.records.trial_list_query import (
    OpenQuestions,
    TrialShelf,
    count_trials,
    open_questions,
    trial_ids,
)
from laydown.trials.facts import TrialFacts
from laydown.trials.studio import Studio
from laydown.trials.trial import Trial

PAGE_LENGTH = 25
PUT_AWAY_SHOWN = 8
QUESTIONS_SHOWN = 10


@dataclass(frozen=True, slots=True)
class TrialList:
    """One page of a shelf of trials.

    ``running`` holds the facts where running trials are listed, ``listed`` the bare trials of another shelf.
    ``closed`` and ``trash`` are the newest of those shelves, and ``counts`` how many each shelf holds.
    """

    studio: Studio
    shelf: TrialShelf
    number: int
    more: bool
    running: tuple[TrialFacts, ...]
    listed: tuple[Trial, ...]
    closed: tuple[Trial, ...]
    trash: tuple[Trial, ...]
    counts: Mapping[TrialShelf, int]
    questions: tuple[OpenQuestions, ...]


def list_trials(records: Records, *, shelf: TrialShelf = "running", number: int = 1) -> TrialList:
    """One page of trials: running ones worked on last come first."""
    with records.look() as look:
        ids = trial_ids(look, shelf, limit=PAGE_LENGTH + 1, offset=(number - 1) * PAGE_LENGTH)
        shown = ids[:PAGE_LENGTH]

        def bare(wanted: tuple[str, ...]) -> tuple[Trial, ...]:
            found = {trial.id: trial for trial in look.find_any(Trial, "id", wanted)}
            return tuple(found[one] for one in wanted)

        return TrialList(
            studio=look.seek(Studio, STUDIO_ID) or Studio(id=STUDIO_ID),
            shelf=shelf,
            number=number,
            more=len(ids) > PAGE_LENGTH,
            running=load_many_facts(look, shown) if shelf == "running" else (),
            listed=() if shelf == "running" else bare(shown),
            closed=bare(trial_ids(look, "closed", limit=PUT_AWAY_SHOWN)),
            trash=bare(trial_ids(look, "trash", limit=PUT_AWAY_SHOWN)),
            counts=count_trials(look),
            questions=open_questions(look, limit=QUESTIONS_SHOWN),
        )
