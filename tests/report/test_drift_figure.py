"""The figure of drying shows the numbers of the curve, in greys, within its width."""

from __future__ import annotations

import csv
import io
import json
import re
import xml.etree.ElementTree as ET

import numpy as np
import pytest

from laydown.kernel.errors import NotEnoughData
from laydown.report.figures import figure_svg
from laydown.report.figures.drift import drift
from laydown.science.settling import DriftCurve, Repeatability, drift_curve

HOURS = np.array([0.25, 1.0, 4.0, 8.0, 24.0, 48.0])
CONDITION = "M1, white backing, D50/2°"


def dried(rng: np.random.Generator, hours: np.ndarray = HOURS, tau: float = 1.0) -> DriftCurve:
    final = np.column_stack([np.linspace(20, 95, 30), np.linspace(-30, 30, 30), np.linspace(20, -20, 30)])
    labs = final + 3.0 * np.exp(-hours / tau)[:, None, None] * [1.0, 0.0, 0.0]
    labs = labs + rng.normal(0.0, 0.03, labs.shape)
    return drift_curve(hours, labs, repeatability=Repeatability(0.1, 0.05, 0.02, "known"))


@pytest.mark.parametrize("width", [320, 640, 960])
def test_it_draws_in_greys_within_its_width(width: int, rng: np.random.Generator) -> None:
    figure = drift(dried(rng), sheet="sheet 2", condition=CONDITION, width=width)
    svg = figure_svg(figure)
    assert float(ET.fromstring(svg).attrib["width"]) <= width * 1.06
    found = re.findall(r"#([0-9a-fA-F]{6})\b", svg)
    assert found
    assert all(colour[0:2] == colour[2:4] == colour[4:6] for colour in found)
    drawn = "".join(ET.fromstring(svg).itertext())
    assert "settled by 4 h" in drawn
    assert figure.title not in drawn
    json.dumps(dict(figure.spec), allow_nan=False)


def test_words_beside_it_say_what_was_read_and_found(rng: np.random.Generator) -> None:
    curve = dried(rng)
    figure = drift(curve, sheet="sheet 2", condition=CONDITION)
    assert CONDITION in figure.caption
    assert "repeatability: known, 0.10 dE00" in figure.caption
    assert curve.settling.sentence in figure.caption
    assert curve.settling.sentence in figure.alt_text
    names = [f"P{number}" for number in range(30)]
    assert "Density of patch P0 (" in drift(curve, sheet="s", condition=CONDITION, names=names).caption


def test_the_table_holds_the_curve(rng: np.random.Generator) -> None:
    curve = dried(rng)
    rows = list(csv.DictReader(io.StringIO(drift(curve, sheet="s", condition=CONDITION).csv)))
    assert [float(row["hours"]) for row in rows] == HOURS.tolist()
    assert [float(row["mean_dE00_from_last"]) for row in rows] == curve.from_last.mean.tolist()
    assert [float(row["density_minus_last"]) for row in rows] == curve.density_change.tolist()
    assert rows[0]["mean_dE00_per_hour"] == ""
    assert rows[0]["worst_patch"] == str(curve.from_last.worst[0] + 1)


def test_a_reading_straight_from_the_printer_is_drawn_too(rng: np.random.Generator) -> None:
    figure = drift(dried(rng, np.array([0.0, 1.0, 30.0])), sheet="s", condition=CONDITION)
    assert "NaN" not in figure_svg(figure)


def test_no_mark_of_rest_where_there_is_none(rng: np.random.Generator) -> None:
    drawn = figure_svg(drift(dried(rng, tau=60.0), sheet="s", condition=CONDITION))
    assert "settled by" not in drawn


def test_a_sheet_read_once_has_no_figure(rng: np.random.Generator) -> None:
    with pytest.raises(NotEnoughData, match="one time only"):
        drift(dried(rng, np.array([3.0])), sheet="s", condition=CONDITION)
