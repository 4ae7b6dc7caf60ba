"""The packaged planning spreads are those the derivation gives, and the studio's own go before them."""

from __future__ import annotations

import importlib.util
import sys
from pathlib import Path
from types import ModuleType

import numpy as np
import pytest

from laydown.kernel.errors import BadSetting
from laydown.science.findings import METRICS
from laydown.science.findings.planning_spreads import SHARE, planning_spreads
from laydown.science.prints import BARYTA, MATTE_COTTON

BENCHMARKS = Path(__file__).parents[3] / "benchmarks"


@pytest.fixture(scope="module")
def derivation() -> ModuleType:
    sys.path.insert(0, str(BENCHMARKS))
    try:
        spec = importlib.util.spec_from_file_location(
            "derive_planning_spreads", BENCHMARKS / "derive_planning_spreads.py"
        )
        assert spec is not None
        assert spec.loader is not None
        module = importlib.util.module_from_spec(spec)
        sys.modules["derive_planning_spreads"] = module
        spec.loader.exec_module(module)
    finally:
        sys.path.remove(str(BENCHMARKS))
    return module


def test_there_is_one_for_every_judged_finding_with_its_unit() -> None:
    found = planning_spreads()
    assert list(found) == [metric.id for metric in METRICS.values() if metric.judged]
    for name, spread in found.items():
        metric = METRICS[name]
        assert spread.unit == (SHARE if metric.margin_is_relative else metric.unit)
        assert spread.value > 0
        assert spread.source.startswith("planning value")


def test_a_fresh_derivation_gives_the_same(derivation: ModuleType) -> None:
    planned = planning_spreads()
    values = {paper: derivation.values_of(paper, sheets=60, seed=7) for paper in (MATTE_COTTON, BARYTA)}
    for name in ("white_l", "white_b", "dmax_visual", "gamut_volume", "black_l", "opacity", "r457"):
        found = [derivation.spread_of(name, values[paper][name]) for paper in values]
        # Over two media of the four and with 60 sheets (an SD is then known to 9 %): within a factor of two.
        ratio = float(np.sqrt(np.mean(np.square(found)))) / planned[name].value
        assert 0.5 < ratio < 2.0, name


def test_the_studios_own_goes_first_and_is_marked() -> None:
    found = planning_spreads({"white_l": 0.2, "gamut_volume": 0.02})
    assert found["white_l"].value == 0.2
    assert found["gamut_volume"].value == 0.02
    assert "own earlier trials" in found["white_l"].source
    assert found["white_a"] == planning_spreads()["white_a"]


def test_identical_sheets_are_no_proof_of_no_spread() -> None:
    found = planning_spreads({"white_l": 0.0, "gamut_volume": 0.0})
    assert found["white_l"].value == pytest.approx(METRICS["white_l"].resolution / np.sqrt(12.0))
    assert found["gamut_volume"] == planning_spreads()["gamut_volume"]


@pytest.mark.parametrize(("own", "words"), [
    ({"sheen": 1.0}, "no finding that is judged"),
    ({"gamut_hull": 1.0}, "no finding that is judged"),
    ({"white_l": -1.0}, "0 or more"),
    ({"white_l": float("nan")}, "0 or more"),
])  # fmt: skip
def test_spreads_that_make_no_sense_are_refused(own: dict[str, float], words: str) -> None:
    with pytest.raises(BadSetting, match=words):
        planning_spreads(own)
