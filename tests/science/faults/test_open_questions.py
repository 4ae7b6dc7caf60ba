"""Each sentence about what a ranking leaves open, in a case that calls for it."""

from __future__ import annotations

from laydown.science.faults import rank


def open_of(faults, marks, **told):
    return rank(faults, marks, **told).still_open


def test_nothing_marked(faults):
    assert open_of(faults, {}) == ("Nothing is marked yet: the list only says how common each cause is.",)


def test_no_cause_stands_out(faults):
    (first, *_) = open_of(faults, {"too-dark-for-client": "present"})
    assert first.startswith(
        'No cause stands out yet: "Viewing light too weak" or "Screen too bright" at most'
    )


def test_one_cause_that_explains_everything_leaves_nothing_open(faults):
    assert open_of(faults, {"dark-dull-cast": "present"}, answers={"ramp-both-ways": "yes"}) == ()


def test_several_causes_at_work(faults):
    marks = {"fish-eyes": "present", "curl-near-core": "present"}
    (first, *_) = open_of(faults, marks)
    assert first.startswith("More than one cause may be at work:")
    assert "Mend one at a time" in first


def test_a_symptom_that_nothing_explains(faults):
    denied = {"nozzles-missing": "no"}
    marks = {"yellow-in-drawer": "present", "yellow-on-wall": "absent"}
    said = open_of(faults, marks, answers={**denied, "yellows-in-the-dark": "no"})
    assert any('Nothing listed explains "Yellow stain comes in the drawer" well' in line for line in said)


def test_a_usual_companion_that_was_not_looked_for(faults):
    said = open_of(faults, {"blocked-shadows": "present"})
    assert any('"Total ink too high" often brings it: ' in line and "(70%)" in line for line in said)
    looked = {"blocked-shadows": "present", "hook": "absent"}
    assert not any("The darkest patch" in line for line in open_of(faults, looked))


def test_answers_that_speak_for_nothing(faults):
    said = open_of(faults, {}, answers={"nozzles-missing": "no"})
    assert said[0] == "Nothing known speaks for any cause; look for more symptoms, or do a check."


def test_a_rough_forecast_is_owned_up_to(faults):
    unlike = [
        *("dark-dull-cast", "feathered-lines", "fine-light-lines", "white-craters", "row-of-dots"),
        *("not-square", "bronze-sheen", "fog-inside-glass", "silver-pinpoints", "fish-eyes"),
        *("yellow-in-drawer", "solid-fades"),
    ]
    ranking = rank(faults, dict.fromkeys(unlike, "present"))
    assert not ranking.exact_forecast
    assert any(
        "the order of the checks is rough; the chances are exact" in line for line in ranking.still_open
    )
    assert ranking.next_checks
