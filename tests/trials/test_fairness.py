"""What makes a comparison unfair: each fallacy planted, found, weighed, and silent where all is alike."""

from __future__ import annotations

from dataclasses import replace

import pytest
from a_small_trial import (
    MONDAY,
    NAMES,
    a_reading,
    a_trial,
    after,
    all_printed,
    event,
    with_events,
    with_readings,
)

from laydown.trials.facts import TrialFacts
from laydown.trials.fairness import UnfairDifference, unfair_differences
from laydown.trials.fairness_rules import RULES, SEVERITIES, recipes_used
from laydown.trials.recipe import Coat, Recipe
from laydown.trials.sheets import BenchRun
from laydown.trials.studio import Printer

ALIKE = Recipe(
    media_setting="Matte 3",
    quality="high",
    resolution_ppi=360,
    passes=8,
    direction="one way",
    ink_adjust_percent=0,
    ink_load_ml_m2=10,
    profile_origin="own",
    intent="perceptual",
    black_point_compensation=True,
    colour_managed_by=("application",),
    file_name="test.tif",
    file_sha256="a" * 64,
)


def _fair() -> TrialFacts:
    """Three uncoated candidates, alike in everything but the medium."""
    facts = a_trial()
    return replace(
        facts,
        candidates=tuple(replace(c, recipe=ALIKE) for c in facts.candidates if c.finish == "uncoated"),
    )


def _with(facts: TrialFacts, name: str, /, **changes: object) -> TrialFacts:
    return replace(
        facts,
        candidates=tuple(
            replace(one, **changes) if one.name == name else one  # type: ignore[arg-type]  # by name
            for one in facts.candidates
        ),
    )


def _only(facts: TrialFacts) -> UnfairDifference:
    (found,) = unfair_differences(facts)
    return found


def test_what_is_alike_is_fair() -> None:
    assert unfair_differences(_fair()) == ()


OTHERWISE: dict[str, tuple[dict[str, object], str]] = {
    "file": ({"file_sha256": "b" * 64}, "breaks the comparison"),
    "intent": ({"intent": "saturation"}, "breaks the comparison"),
    "black-point compensation": ({"black_point_compensation": False}, "breaks the comparison"),
    "profile origin": ({"profile_origin": "supplier"}, "weigh it"),
    "media setting": ({"media_setting": "Gloss 1"}, "note"),
    "ink adjustment": ({"ink_adjust_percent": 10.0}, "weigh it"),
    "quality": ({"quality": "draft"}, "weigh it"),
    "resolution": ({"resolution_ppi": 720.0}, "weigh it"),
    "passes": ({"passes": 4}, "weigh it"),
    "direction": ({"direction": "both ways"}, "weigh it"),
    "ink load": ({"ink_load_ml_m2": 14.0}, "weigh it"),
}


@pytest.mark.parametrize("name", OTHERWISE)
def test_each_setting_that_differs_is_found_and_weighed(name: str) -> None:
    changes, severity = OTHERWISE[name]
    found = _only(_with(_fair(), "baryta", recipe=replace(ALIKE, **changes)))  # type: ignore[arg-type]  # by name
    assert (found.id, found.severity) == (name, severity)
    assert {names for _, names in found.values} == {("rag", "canvas"), ("baryta",)}
    assert found.candidates == ("rag", "canvas", "baryta")
    assert found.why.endswith(".")
    assert found.todo.endswith(".")


def test_every_rule_is_planted_above_or_below() -> None:
    assert {rule.id for rule in RULES} <= set(OTHERWISE) | {"printer", "form"}


def test_stated_for_some_and_not_for_others_is_a_note() -> None:
    found = _only(_with(_fair(), "baryta", recipe=replace(ALIKE, intent="")))
    assert found.severity == "note"
    assert found.what == "rendering intent: not stated for every candidate"
    assert ("not stated", ("baryta",)) in found.values


def test_settings_really_used_count_and_not_the_plan() -> None:
    run = BenchRun(
        id="run",
        trial_id="t",
        candidate_id="c-baryta",
        printer_id="p",
        begun_at=MONDAY,
        recipe=Recipe(quality="draft"),
    )
    facts = _fair()
    unused = replace(facts, runs=(run,))
    assert unfair_differences(unused) == (), "nothing was printed in that run"
    used = replace(
        unused, sheets=tuple(replace(s, run_id="run") if s.id == "s-baryta-1" else s for s in facts.sheets)
    )
    found = _only(used)
    assert (found.id, found.values[1]) == ("quality", ("draft", ("baryta",)))
    (recipe,) = recipes_used(used, used.candidate("c-baryta"))
    assert recipe == replace(ALIKE, quality="draft"), "what was not noted is as planned"


def test_a_candidate_that_is_not_like_itself_is_found() -> None:
    facts = _fair()
    runs = tuple(
        BenchRun(
            id=name,
            trial_id="t",
            candidate_id="c-rag",
            printer_id="p",
            begun_at=MONDAY,
            recipe=Recipe(quality=name),
        )
        for name in ("high", "draft")
    )
    sheets = tuple(
        replace(s, run_id="high" if s.day == 1 else "draft") if s.candidate_id == "c-rag" else s
        for s in facts.sheets
    )
    found = _only(replace(facts, runs=runs, sheets=sheets))
    assert found.values[0] == ("high and later draft", ("rag",))


def test_another_printer_breaks_the_comparison() -> None:
    facts = replace(_fair(), printers=(*_fair().printers, Printer(id="q", name="Wide", serial="2")))
    found = _only(_with(facts, "baryta", printer_id="q"))
    assert (found.id, found.severity) == ("printer", "breaks the comparison")
    assert found.values[1] == ("Wide (2)", ("baryta",))


def test_sheets_against_a_roll_are_to_be_weighed() -> None:
    facts = _fair()
    rolls = tuple(replace(r, form="sheets") if r.id == "r-m-baryta" else r for r in facts.rolls)
    found = _only(replace(facts, rolls=rolls))
    assert (found.id, found.severity) == ("form", "weigh it")


def test_names_of_files_matter_only_where_no_checksum_tells() -> None:
    other = replace(ALIKE, file_name="other.tif")
    assert unfair_differences(_with(_fair(), "baryta", recipe=other)) == ()
    bare = replace(
        _fair(),
        candidates=tuple(replace(c, recipe=replace(ALIKE, file_sha256="")) for c in _fair().candidates),
    )
    assert unfair_differences(bare) == ()
    found = _only(_with(bare, "baryta", recipe=replace(other, file_sha256="")))
    assert (found.id, found.severity) == ("file name", "weigh it")


def test_coated_against_uncoated_breaks_unless_every_medium_has_both_arms() -> None:
    coat = Coat(product="Clear", coats=2)
    alone = _with(_fair(), "baryta", finish="coated", coat=coat)
    assert (_only(alone).id, _only(alone).severity) == ("finish", "breaks the comparison")
    arms = tuple(
        replace(c, id=f"{c.id}+", name=f"{c.name}+", finish="coated", coat=coat, house=False, twin_id=c.id)
        for c in _fair().candidates
    )
    both = replace(_fair(), candidates=(*_fair().candidates, *arms))
    assert _only(both).severity == "note"
    all_coated = replace(_fair(), candidates=arms)
    assert unfair_differences(all_coated) == ()


def test_other_coats_are_to_be_weighed() -> None:
    coated = replace(
        _fair(),
        candidates=tuple(
            replace(c, finish="coated", coat=Coat(product="Clear", coats=2)) for c in _fair().candidates
        ),
    )
    assert unfair_differences(coated) == ()
    found = _only(_with(coated, "rag", coat=Coat(product="Clear", coats=3, wet_g_m2=80)))
    assert (found.id, found.values[0][0]) == ("coat", "Clear, 3 coats, 80 g/m2 wet")
    assert _only(_with(coated, "rag", coat=None)).values[0][0] == "not stated"


def test_colour_managed_twice_breaks_the_comparison_even_where_all_do_it() -> None:
    twice = replace(ALIKE, colour_managed_by=("application", "driver"))
    facts = replace(_fair(), candidates=tuple(replace(c, recipe=twice) for c in _fair().candidates))
    assert (_only(facts).id, _only(facts).severity) == (
        "colour managed more than once",
        "breaks the comparison",
    )


def test_loads_within_a_tenth_count_as_alike() -> None:
    for load, apart in ((11.1, False), (11.2, True), (9.0, False), (8.9, True)):
        found = unfair_differences(_with(_fair(), "baryta", recipe=replace(ALIKE, ink_load_ml_m2=load)))
        assert bool(found) == apart, load


def test_a_lot_that_is_not_stated_is_a_note() -> None:
    found = _only(_with(_fair(), "baryta", lot_id=None))
    assert (found.id, found.severity, found.candidates) == ("lot", "note", ("baryta",))


def test_unlike_ages_are_to_be_weighed_and_a_quarter_is_let_pass() -> None:
    def aged(hours: float) -> TrialFacts:
        facts = all_printed(_fair())
        return with_readings(
            facts,
            a_reading("s-rag-1", after(48)),
            a_reading("s-canvas-1", after(48)),
            a_reading("s-baryta-1", after(hours)),
        )

    assert unfair_differences(aged(63)) == ()
    found = _only(aged(65))
    assert (found.id, found.severity) == ("age", "weigh it")
    assert ("65 h", ("baryta",)) in found.values


def test_ages_of_coated_and_uncoated_arms_are_not_held_against_each_other() -> None:
    facts = with_events(all_printed(a_trial()), event("s-canvas coated-1", "coated", after(48)))
    facts = with_readings(
        facts, a_reading("s-canvas-1", after(30)), a_reading("s-canvas coated-1", after(100))
    )
    assert "age" not in {one.id for one in unfair_differences(facts)}


def test_readings_set_aside_have_no_age() -> None:
    facts = with_readings(
        all_printed(_fair()),
        a_reading("s-rag-1", after(48)),
        replace(a_reading("s-baryta-1", after(400)), set_aside_at=after(401)),
    )
    assert unfair_differences(facts) == ()


def test_withdrawn_candidates_are_left_out() -> None:
    facts = _with(_fair(), "baryta", recipe=replace(ALIKE, intent="saturation"), withdrawn_at=MONDAY)
    assert unfair_differences(facts) == ()


def test_the_gravest_comes_first() -> None:
    facts = _with(_fair(), "baryta", lot_id=None, recipe=replace(ALIKE, intent="saturation", quality="draft"))
    severities = [SEVERITIES.index(one.severity) for one in unfair_differences(facts)]
    assert severities == [0, 1, 2]


def test_sheets_printed_out_of_the_drawn_order_are_to_be_weighed() -> None:
    facts = with_events(a_trial(), *(event(f"s-{name}-1", "printed", MONDAY) for name in NAMES))
    assert not [one for one in unfair_differences(facts) if one.id == "drawn order"]
    early = replace(
        event("s-baryta-2", "printed", after(2)),
        words="Drawn for day 2, printed on 2 March, the day of day 1.",
    )
    (found,) = [one for one in unfair_differences(with_events(facts, early)) if one.id == "drawn order"]
    assert found.severity == "weigh it"
    assert found.values == (("as drawn", ("rag", "canvas", "canvas coated")), ("H3", ("baryta",)))
