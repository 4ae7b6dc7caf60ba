"""Typed gloss readings: what can be, what looks mistyped, early ones, set aside and brought back."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta

import pytest

from laydown.kernel.errors import BadSetting, ChangedMeanwhile, Contradiction, RefusedInput
from laydown.records.ledger import Records
from laydown.trials.measured import GlossReading
from laydown.trials.sheets import Sheet
from laydown.usecases.measuring.gloss_aside import (
    bring_gloss_back,
    leave_out_early_gloss,
    set_gloss_aside,
    use_early_gloss,
)
from laydown.usecases.measuring.standings import gloss_standings
from laydown.usecases.measuring.type_gloss import TypedGloss, doubtful, refuse_impossible, type_gloss
from laydown.usecases.trial.close_trial import close_trial
from laydown.usecases.undo import undo
from spring_trial import PRINTED, spring_trial

SETTLED = datetime(2026, 1, 14, 10, 0, tzinfo=UTC)
WHITE = TypedGloss(
    place=" Paper  White ", angle=60, values=(2.9, 3.1, 3.0), direction="along", instrument="hand  meter",
    measured_at=SETTLED,
)  # fmt: skip


def test_a_typed_reading_is_kept_and_undone(any_records: Records) -> None:
    bench = spring_trial(any_records)
    done = type_gloss(bench.records, "s-K2", WHITE, who="Ada")
    (kept,) = bench.facts.gloss_of("s-K2")
    assert kept == done.thing
    assert (kept.place, kept.angle, kept.values, kept.direction) == (
        "paper white",
        60,
        (2.9, 3.1, 3.0),
        "along",
    )
    assert (kept.instrument, kept.by, kept.measured_at) == ("hand meter", "Ada", SETTLED)
    with bench.records.look() as look:
        entry = look.entry(done.entry_id)
    assert (entry.action, entry.words, entry.trial_id) == (
        "read the gloss of",
        "sheet K2: paper white, 60° along the feed, 2.9 3.1 3 GU",
        "spring",
    )
    undo(bench.records, done.entry_id, who="Ada")
    assert bench.facts.gloss == ()


@pytest.mark.parametrize(
    ("change", "why"),
    [
        ({"place": "  "}, "where on the sheet"),
        ({"place": "x" * 61}, "the place is too long"),
        ({"angle": 50}, "gloss is not read at 50°"),
        ({"values": ()}, "no value was typed"),
        ({"values": (3.0,) * 7}, "7 repeats are too many"),
        ({"values": (3.0, 2000.5)}, "2000.5 GU cannot be: a meter shows 0 to 2000"),
        ({"values": (-0.2,)}, "-0.2 GU cannot be"),
        ({"values": (float("nan"),)}, "nan GU cannot be"),
    ],
)
def test_what_cannot_be_is_refused_in_words(change: dict[str, object], why: str) -> None:
    with pytest.raises(BadSetting, match=why) as refusal:
        refuse_impossible(replace(WHITE, **change))  # type: ignore[arg-type] - each field's own type
    assert refusal.value.todo


def test_metal_and_every_angle_are_possible() -> None:
    for angle in (20, 45, 60, 75, 85):
        refuse_impossible(replace(WHITE, angle=angle, values=(0.0, 2000.0)))


@pytest.mark.parametrize(
    ("values", "said"),
    [
        ((2.9, 3.1, 3.0), ""),
        ((28.0, 31.0, 26.5), ""),  # texture scatters
        ((28.4, 2.84, 28.1), "2.84 GU lies far from the other repeats (28.1 in the middle)."),
        ((28.4, 2.84), "28.4 and 2.84 GU lie far apart for repeats at one place."),
        ((0.0, 1.9, 3.0), ""),  # within 2 GU of the middle
        ((101.0,), "101 GU is shinier than black glass; few prints are."),
    ],
)
def test_what_looks_mistyped_is_asked_about(values: tuple[float, ...], said: str) -> None:
    assert " ".join(doubtful(replace(WHITE, values=values))) == said


def test_what_looks_mistyped_is_kept_once_it_is_confirmed(bench) -> None:
    odd = replace(WHITE, values=(28.4, 2.84, 28.1))
    with pytest.raises(BadSetting, match="please look again"):
        type_gloss(bench.records, "s-K2", odd, who="Ada")
    assert bench.facts.gloss == ()
    assert type_gloss(bench.records, "s-K2", odd, who="Ada", confirmed=True).thing.values == odd.values


def test_only_a_printed_sheet_at_a_time_that_can_be(bench) -> None:
    bench.keep(Sheet(id="s-L5", trial_id="spring", candidate_id="c-rag", code="L5", use="spare"))
    with pytest.raises(RefusedInput, match="L5 is not printed yet"):
        type_gloss(bench.records, "s-L5", WHITE, who="Ada")
    for at in (PRINTED - timedelta(hours=1), bench.records.now() + timedelta(days=1)):
        with pytest.raises(RefusedInput, match="cannot have been read then"):
            type_gloss(bench.records, "s-K2", replace(WHITE, measured_at=at), who="Ada")


def test_no_path_keeps_gloss_of_a_sheet_that_was_never_printed(bench) -> None:
    kept = type_gloss(bench.records, "s-K2", WHITE, who="Ada").thing
    bench.keep(Sheet(id="s-L5", trial_id="spring", candidate_id="c-rag", code="L5", use="spare"))
    with pytest.raises(Contradiction, match=r"L5 has a gloss reading .* never printed"):
        bench.keep(replace(kept, id="elsewhere", sheet_id="s-L5"))


def test_a_closed_trial_takes_nothing_in(bench) -> None:
    close_trial(bench.records, "spring", who="Ada")
    with pytest.raises(RefusedInput, match="closed"):
        type_gloss(bench.records, "s-K2", WHITE, who="Ada")


def test_an_early_one_is_kept_out_until_somebody_says_otherwise(bench) -> None:
    early = replace(WHITE, measured_at=PRINTED + timedelta(hours=3))
    kept = type_gloss(bench.records, "s-K2", early, who="Ada").thing
    (standing,) = gloss_standings(bench.facts)
    assert (standing.state, standing.used) == ("early", False)
    assert standing.words == "read 3.0 h after it was printed, 24 h are wanted"
    with pytest.raises(BadSetting, match="used all the same"):
        use_early_gloss(bench.records, kept.id, why=" ", who="Ada")
    done = use_early_gloss(bench.records, kept.id, why="the meter goes back today", who="Ada")
    (standing,) = gloss_standings(bench.facts)
    assert (standing.state, standing.used) == ("used early", True)
    assert "on the word of Ada: the meter goes back today" in standing.words
    with pytest.raises(RefusedInput, match="used already"):
        use_early_gloss(bench.records, kept.id, why="again", who="Ada")
    leave_out_early_gloss(bench.records, kept.id, who="Ada")
    assert gloss_standings(bench.facts)[0].state == "early"
    with pytest.raises(RefusedInput, match="not used before its time"):
        leave_out_early_gloss(bench.records, kept.id, who="Ada")
    assert done.thing.early_used_by == "Ada"


def test_an_early_one_may_say_at_once_why_it_is_used(bench) -> None:
    early = replace(WHITE, measured_at=PRINTED + timedelta(hours=3))
    type_gloss(bench.records, "s-K2", early, who="Ada", early_why="borrowed meter")
    settled = type_gloss(bench.records, "s-K3", WHITE, who="Ada", early_why="borrowed meter").thing
    assert [one.state for one in gloss_standings(bench.facts)] == ["used early", "used"]
    assert settled.early_used_at is None  # nothing to excuse
    with pytest.raises(RefusedInput, match="not taken too early"):
        use_early_gloss(bench.records, settled.id, why="so", who="Ada")


def test_set_aside_with_a_reason_and_brought_back(bench) -> None:
    kept: GlossReading = type_gloss(bench.records, "s-K2", WHITE, who="Ada").thing
    with pytest.raises(BadSetting, match="why is it set aside"):
        set_gloss_aside(bench.records, kept.id, why="", who="Ada")
    with pytest.raises(ChangedMeanwhile):
        set_gloss_aside(bench.records, kept.id, why="dust", who="Ada", seen=1)
    done = set_gloss_aside(bench.records, kept.id, why="dust under the meter", who="Ada")
    assert gloss_standings(bench.facts)[0].state == "set aside"
    with pytest.raises(RefusedInput, match="set aside already"):
        set_gloss_aside(bench.records, kept.id, why="dust", who="Ada")
    bring_gloss_back(bench.records, kept.id, who="Ada")
    assert gloss_standings(bench.facts)[0].used
    with pytest.raises(RefusedInput, match="not set aside"):
        bring_gloss_back(bench.records, kept.id, who="Ada")
    assert done.thing.set_aside_why == "dust under the meter"
