"""A change of any one noun after which a trial would contradict itself is refused, whichever noun it is."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import fields, replace
from datetime import UTC, datetime, timedelta

import pytest

from bench_trial import BenchTrial, make_bench_trial
from laydown.kernel.errors import Contradiction
from laydown.records.journal import FIRST_DIGEST, Change, Entry, chained
from laydown.records.ledger import Records
from laydown.records.work import Work
from laydown.science.forms.form_wish import FormWish
from laydown.trials.measured import GlossReading, Reading
from laydown.trials.sheets import BenchRun, Sheet, SheetEvent
from laydown.trials.test_form import TestForm
from laydown.trials.trial import Brief, BriefChange, Candidate, Trial
from laydown.usecases.bench.begin_run import begin_run
from laydown.usecases.bench.print_sheet import print_sheet

TRIAL = BenchTrial().trial
PRINTED, PLANNED = "s-K2", "s-K3"


@pytest.fixture
def bench(records: Records) -> Records:
    """A trial with one sheet printed and read."""
    made = make_bench_trial(records)
    run = begin_run(records, made.rag, who="Ada").thing
    print_sheet(records, PRINTED, run_id=run.id, who="Ada")
    with records.work("handed in", who="Ada") as work:
        work.add(_reading(work, PRINTED))
    return records


def _reading(work: Work, sheet_id: str) -> Reading:
    sha256 = work.keep_file(b"readings")
    return Reading(
        id=f"of {sheet_id}", trial_id=TRIAL, sheet_id=sheet_id, source="dropped", file_name="k.txt",
        file_sha256=sha256, received_at=work.now, patches=3,
    )  # fmt: skip


def _brief_change(work: Work) -> object:
    brief = work.get(Brief, "brief")
    told = {"before": "a", "after": "b", "before_plain": '"a"', "after_plain": '"b"', "why": "w"}
    return work.add(
        BriefChange(id="c", trial_id=brief.trial_id, at=work.now, by="Ada", field="question", **told)
    )


def _one_run(work: Work) -> BenchRun:
    (run,) = work.find(BenchRun)
    return run


def _gloss(work: Work) -> GlossReading:
    return GlossReading(
        id="g", trial_id=TRIAL, sheet_id=PLANNED, place="black", angle=60, values=(2.0,), received_at=work.now
    )


def _form(work: Work) -> TestForm:
    return TestForm(
        id="f", trial_id=TRIAL, code="F7K2", wish=FormWish(code="F7K3"), pages=(),
        reference_sha256=work.keep_file(b"patches"), made_at=work.now, made_with="0.1.0",
    )  # fmt: skip


CHANGES: dict[str, tuple[Callable[[Work], object], str]] = {
    "Trial": (lambda w: w.change(replace(w.get(Trial, TRIAL), cure_hours=-1.0)), "hours to cure"),
    "Brief": (lambda w: w.change(replace(w.get(Brief, "brief"), question="Another?")), "cannot be altered"),
    "BriefChange": (_brief_change, "rests on this one"),
    "Candidate": (
        lambda w: w.change(replace(w.get(Candidate, "gloss"), name="fenland rag")),
        "two candidates are called",
    ),
    "BenchRun": (
        lambda w: w.change(replace(_one_run(w), ended_at=_one_run(w).begun_at - timedelta(hours=1))),
        "cannot end before it begins",
    ),
    "Sheet": (lambda w: w.change(replace(w.get(Sheet, PLANNED), code="K2")), "two sheets are called"),
    "SheetEvent": (
        lambda w: w.add(
            SheetEvent(id="e", trial_id=TRIAL, sheet_id=PLANNED, at=w.now, kind="trimmed", by="Ada")
        ),
        "before it is printed",
    ),
    # What is taken away is weighed too: its trial is known only from what it was before.
    "SheetEvent taken away": (
        lambda w: w.remove(SheetEvent, w.find(SheetEvent, kind="printed")[0].id),
        "was never printed",
    ),
    "Reading": (lambda w: w.add(_reading(w, PLANNED)), "was never printed"),
    "GlossReading": (lambda w: w.add(_gloss(w)), "was never printed"),
    "TestForm": (lambda w: w.add(_form(w)), "was drawn with the code F7K3"),
}


@pytest.mark.parametrize("noun", CHANGES)
def test_no_change_of_one_noun_goes_unweighed(bench: Records, noun: str) -> None:
    change, said = CHANGES[noun]
    with pytest.raises(Contradiction, match=said), bench.work("changed", who="Ada") as work:
        change(work)


def test_every_word_of_an_entry_is_in_its_link() -> None:
    """Whatever of an entry is altered, the chain tells; and what stands before it."""
    at = datetime(2026, 3, 2, 9, tzinfo=UTC)
    change = Change("Note", "n", None, {"id": "n"})
    entry = Entry(7, "id", at, "Ada", "noted", "a speck", "t", None, False, (change,))
    others = {
        "seq": 8, "id": "other", "at": at + timedelta(microseconds=1), "who": "Bo", "action": "undid",
        "words": "a spot", "trial_id": None, "undoes": "e", "final": True, "changes": (),
    }  # fmt: skip
    assert set(others) == {field.name for field in fields(Entry)} - {"digest"}
    link = chained(entry, previous=FIRST_DIGEST)
    for name, value in others.items():
        assert chained(replace(entry, **{name: value}), previous=FIRST_DIGEST) != link, name
    for name, told in (("noun", "Sheet"), ("id", "m"), ("before", {"id": "n"}), ("after", {"id": "m"})):
        altered = replace(entry, changes=(replace(change, **{name: told}),))
        assert chained(altered, previous=FIRST_DIGEST) != link, name
    assert chained(entry, previous="1" * 64) != link
