"""One profile or media setting for several media; the rules are our own choice."""

from __future__ import annotations

from dataclasses import replace

import pytest
from a_small_trial import MONDAY, a_trial

from laydown.trials.facts import TrialFacts
from laydown.trials.recipe import Recipe
from laydown.trials.shared_settings import problems_here, shared_settings

RAG = Recipe(
    media_setting="Fine 3", black_ink="matte", profile_name="rag.icc", profile_sha256="9f" * 32,
    profile_origin="own", profile_media_setting="Fine 3", colour_managed_by=("application",),
)  # fmt: skip


def trial(**recipes: Recipe) -> TrialFacts:
    facts = a_trial()
    candidates = tuple(
        replace(one, recipe=recipes.get(one.name.replace(" ", "_"), Recipe())) for one in facts.candidates
    )
    return replace(facts, candidates=candidates)


def fields_of(facts: TrialFacts, candidate: str, recipe: Recipe, *, for_chart: bool = False) -> list[str]:
    found = shared_settings(facts, facts.candidate(f"c-{candidate}"), recipe, for_chart=for_chart)
    return [one.field for one in found]


def test_a_matte_profile_taken_over_to_a_baryta_is_said_with_what_to_check() -> None:
    facts = trial(rag=RAG)
    profile, setting = shared_settings(facts, facts.candidate("c-baryta"), RAG, for_chart=False)
    assert profile.what == 'one profile, "rag.icc", for Baryta, which is baryta, and Rag, which is matte'
    assert "one black ink on one surface" in profile.why
    for check in ("media setting", "black ink", "ink adjustment", "profile"):
        assert check in profile.todo
    assert (setting.field, "setting sheet" in setting.todo) == ("media_setting", True)


def test_it_is_said_before_and_after_and_of_both() -> None:
    before, after = trial(rag=RAG), trial(rag=RAG, baryta=RAG)
    assert (
        fields_of(before, "baryta", RAG)
        == fields_of(after, "baryta", RAG)
        == ["profile_name", "media_setting"]
    )
    assert fields_of(before, "rag", RAG) == []
    assert fields_of(after, "rag", RAG) == ["profile_name", "media_setting"]


def test_a_medium_of_the_same_surface_is_another_medium() -> None:
    facts = trial(rag=RAG)
    (found,) = shared_settings(facts, facts.candidate("c-canvas"), RAG, for_chart=False)
    assert found.what == 'one profile, "rag.icc", for Canvas and Rag'
    assert fields_of(facts, "canvas", replace(RAG, profile_origin="borrowed")) == []
    assert fields_of(facts, "baryta", replace(RAG, profile_origin="borrowed"))[0] == "profile_name"


def test_two_arms_of_one_medium_share_what_they_like() -> None:
    assert fields_of(trial(canvas=RAG), "canvas coated", RAG) == []


@pytest.mark.parametrize(
    ("change", "shared"),
    [
        ({"profile_sha256": "1c" * 32}, False),  # another file by the same name
        ({"profile_sha256": ""}, True),  # nothing but the name tells
        ({"profile_name": "renamed.icc"}, True),
        ({"profile_name": "", "profile_sha256": ""}, False),
    ],
)
def test_a_profile_is_known_by_its_checksum_and_else_by_its_name(
    change: dict[str, str], shared: bool
) -> None:
    assert ("profile_name" in fields_of(trial(rag=RAG), "baryta", replace(RAG, **change))) == shared


def test_a_chart_is_printed_without_a_profile() -> None:
    assert fields_of(trial(rag=RAG), "baryta", RAG, for_chart=True) == ["media_setting"]


def test_withdrawn_candidates_share_nothing() -> None:
    facts = trial(rag=RAG)
    gone = tuple(replace(one, withdrawn_at=MONDAY) if one.id == "c-rag" else one for one in facts.candidates)
    assert fields_of(replace(facts, candidates=gone), "baryta", RAG) == []


def test_what_is_wrong_in_itself_is_said_first() -> None:
    facts = trial(rag=RAG)
    found = problems_here(facts, facts.candidate("c-baryta"), RAG, printer=None, for_chart=False)
    assert [one.field for one in found] == ["black_ink", "profile_name", "media_setting"]
