from __future__ import annotations

import json

import pytest

from laydown.kernel.errors import BadSetting
from laydown.usecases.trial_file import parse_margins, parse_trial


def _bytes(told: object) -> bytes:
    return json.dumps(told).encode()


def test_a_trial_file_is_read() -> None:
    told = {
        "title": "T",
        "house": "Rag",
        "candidates": {"Rag": {"finish": "coated", "age_hours": 30, "note": "n"}},
    }
    trial = parse_trial(_bytes(told), file="trial.json")
    assert (trial.title, trial.house, trial.invented) == ("T", "Rag", False)
    assert trial.candidates["Rag"].finish == "coated"
    assert trial.candidates["Rag"].age_hours == 30.0


@pytest.mark.parametrize(
    ("told", "words"),
    [
        (b"{", "not JSON"),
        (b"[1]", "braces"),
        (b"\xff\xfe", "not JSON"),
        (b"[" * 100_000, "deeply|not JSON"),
        (_bytes({"candidates": {"Rag": {"finish": "shiny"}}}), "shiny"),
        (_bytes({"candidates": {"Rag": {"age_hours": "old"}}}), "age_hours"),
        (_bytes({"candidates": {"Rag": {"colour": "blue"}}}), "means nothing here"),
        (_bytes({"title": 3}), "title"),
        (_bytes({"titel": "T"}), "titel"),
        (_bytes({"candidates": {"Rag": {"finish": []}}}), "finish"),
    ],
)
def test_nonsense_is_named(told: bytes, words: str) -> None:
    with pytest.raises(BadSetting, match=words) as caught:
        parse_trial(told, file="trial.json")
    assert caught.value.file == "trial.json"


def test_margins_in_units_and_in_percent() -> None:
    told = {
        "dmax_visual": 0.03,
        "gamut_volume": {"margin": "7.5 %", "prefer": "none"},
        "white_b": {"prefer": "lower"},
    }
    margins = parse_margins(_bytes(told), file="m.json")
    assert float(margins["dmax_visual"].margin or 0) == 0.03
    assert margins["dmax_visual"].relative is False
    assert float(margins["gamut_volume"].margin or 0) == pytest.approx(0.075)
    assert margins["gamut_volume"].relative is True
    assert (margins["white_b"].margin, margins["white_b"].prefer) == (None, "lower")


@pytest.mark.parametrize(
    "told",
    [
        {"dmax": 1},
        {"white_l": 0},
        {"white_l": -1},
        {"white_l": "x"},
        {"white_l": True},
        {"white_l": {"prefer": "big"}},
        {"white_l": {"prefer": []}},
        {"white_l": 10**400},
        {"white_b": "5 %"},
    ],
)
def test_margins_that_make_no_sense_are_refused(told: object) -> None:
    with pytest.raises(BadSetting):
        parse_margins(_bytes(told), file="m.json")
