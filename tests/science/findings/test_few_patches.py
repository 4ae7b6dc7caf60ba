"""Files of a densitometer or of eight patches: what can be said is said, the rest is left unsaid."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from laydown.kernel.errors import NotEnoughData
from laydown.kernel.stated import Stated
from laydown.science.colour import lab_from_xyz
from laydown.science.findings import find_everything
from laydown.science.findings.chart import make_chart
from laydown.science.findings.likeness import likeness
from laydown.science.findings.on_chart import SheetOnChart, lay_on_chart
from laydown.science.findings.pairing import Sheet, gather_sheets
from laydown.science.findings.reduction import ABOVE_PAPER, DENSITIES_ONLY, Reduced, reduce_readings
from laydown.science.readings.types import Conditions, Readings

CORNERS = np.array([[r, g, b] for r in (0, 1) for g in (0, 1) for b in (0, 1)], dtype=np.float64)[::-1]
DENSITIES = np.array([0.07, 0.15, 0.72, 0.85, 0.60, 0.75, 1.10, 1.65])  # white first, black last; invented
M0 = Conditions(measurement=Stated("M0", "test"), backing=Stated("white", "test"))


def reduced(file: str = "s1.txt", conditions: Conditions = M0, **values: object) -> Reduced:
    table = Readings(
        file=file,
        ids=tuple(f"p{n}" for n in range(len(CORNERS))),
        names=("",) * len(CORNERS),
        lines=np.zeros(len(CORNERS), dtype=np.int64),
        channels=("R", "G", "B"),
        device=CORNERS,
        conditions=conditions,
    )
    return reduce_readings(replace(table, **values))


def on_chart(*items: Reduced) -> tuple[SheetOnChart, ...]:
    chart = make_chart(CORNERS, channels=("R", "G", "B"))
    laid = [lay_on_chart(Sheet(item.file, (item,)), [item], chart) for item in items]
    return tuple(sheet for sheet in laid if sheet is not None)


def found(*items: Reduced) -> dict[str, float]:
    everything = find_everything(on_chart(*items), make_chart(CORNERS, channels=("R", "G", "B")), others={})
    return {
        name: float(np.nanmean(item.values))
        for name, item in everything.items()
        if np.isfinite(item.values).any()
    }


@pytest.mark.parametrize("sheets", [1, 2])
def test_densities_alone_give_densities_alone(sheets: int) -> None:
    told = [reduced(f"s{n}.txt", densities={"visual": DENSITIES + 0.01 * n}) for n in range(sheets)]
    assert told[0].colorimetry == DENSITIES_ONLY
    assert np.isnan(told[0].lab).all()
    shift = 0.01 * (sheets - 1) / 2
    assert found(*told) == pytest.approx({"dmax_visual": 1.65 + shift, "dmax_over_paper": 1.58})


def test_densities_above_the_paper_give_no_absolute_one() -> None:
    conditions = replace(M0, density_zero=Stated("paper", "test"), density_status=Stated("T", "test"))
    values = dict.fromkeys(("visual", "red", "green", "blue"), DENSITIES - 0.07)
    told = reduced(conditions=conditions, densities=values)
    assert told.visual_from == ABOVE_PAPER
    assert np.isnan(told.status_t).all()
    assert found(told) == pytest.approx({"dmax_over_paper": 1.58})


def test_status_t_is_told_where_it_is_stated() -> None:
    values = {"red": DENSITIES, "green": DENSITIES - 0.02, "blue": DENSITIES + 0.03}
    told = found(reduced(conditions=replace(M0, density_status=Stated("T", "test")), densities=values))
    assert told == pytest.approx({"dmax_status_t": 1.68})
    with pytest.raises(NotEnoughData, match="Status T"):
        reduced(densities=values)


def test_a_chart_of_corners_gives_a_volume_that_says_what_it_is() -> None:
    """The corners of a colour space with known volume: sRGB, 742 459 from 12 triangles (tests/tables)."""
    linear = CORNERS
    # IEC 61966-2-1 primaries adapted to D50 (Bradford), as in laydown.science.gamut.rgb_spaces.
    to_xyz = 100.0 * np.array(
        [
            [0.4360747, 0.3850649, 0.1430804],
            [0.2225045, 0.7168786, 0.0606169],
            [0.0139322, 0.0971045, 0.7141733],
        ]
    )
    lab = lab_from_xyz(linear @ to_xyz.T)
    sheet = on_chart(reduced(lab=lab))
    everything = find_everything(sheet, make_chart(CORNERS, channels=("R", "G", "B")), others={})
    # The published matrix has seven digits and a white 0.0005 from the tabled one: 0.1 % is room enough.
    assert everything["gamut_volume"].values[0] == pytest.approx(742_459, rel=1e-3)
    assert "a tenth too small" in everything["gamut_volume"].note
    assert not {"gamut_reds", "ink_limit_hook", "tone_reversal", "shadow_steps_lost"} & set(everything)


def test_a_few_rounded_numbers_may_be_the_same_on_two_sheets() -> None:
    twice = [reduced(name, densities={"visual": np.round(DENSITIES, 2)}) for name in ("s1.txt", "s2.txt")]
    sheets, problems = gather_sheets(twice)
    assert [sheet.name for sheet in sheets] == ["s1", "s2"]
    assert problems == ()


def test_sheets_that_are_known_are_not_told_by_file_names() -> None:
    one, two = (
        reduced("A/export.txt", densities={"visual": DENSITIES}),
        reduced("A/export (2).txt", densities={"visual": DENSITIES + 0.1}),
    )
    sheets, _ = gather_sheets([one, two], named={"A/export.txt": "K7", "A/export (2).txt": "K7"})
    assert [(sheet.name, len(sheet.readings)) for sheet in sheets] == [("K7", 2)]


def test_what_the_question_is_about_may_differ() -> None:
    values = {"visual": DENSITIES}
    bare = reduced(
        conditions=replace(M0, finish=Stated("uncoated", "t"), age_hours=Stated(2.0, "t")), densities=values
    )
    coat = reduced(
        conditions=replace(M0, finish=Stated("coated", "t"), age_hours=Stated(72.0, "t")), densities=values
    )
    assert "unlike finish" in likeness(bare, coat).refusal
    assert "unlike age" in likeness(bare, coat).refusal
    assert likeness(bare, coat, across=frozenset({"finish"})).refusal == ""
    assert "unlike finish" in likeness(bare, coat, across=frozenset({"age"})).refusal
