"""Findings of simulated sheets with known truth."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace

import numpy as np
import pytest

from laydown.kernel.errors import NotEnoughData
from laydown.science.colour import lab_from_reflectance, visual_density
from laydown.science.findings import (
    METRICS,
    Sheet,
    find_everything,
    lay_on_chart,
    make_chart,
    place_on_chart,
    reduce_readings,
)
from laydown.science.findings.chart import Chart
from laydown.science.findings.found import Found
from laydown.science.findings.gamut_metrics import HUE_SECTORS
from laydown.science.findings.on_chart import SheetOnChart
from laydown.science.findings.reduction import Reduced
from laydown.science.prints import (
    BRIGHT_MATTE,
    PERFECT,
    WAVELENGTHS_NM,
    SheetState,
    demonstration_chart,
    reflectance,
)
from laydown.science.readings.types import Readings

Maker = Callable[..., Reduced]
Printer = Callable[..., SheetState]
WHITE, BLACK = np.ones((1, 3)), np.zeros((1, 3))


def _lay(items: Sequence[Reduced], chart: Chart) -> list[SheetOnChart]:
    laid = [lay_on_chart(Sheet(item.file, (item,)), (item,), chart) for item in items]
    assert all(laid)
    return [sheet for sheet in laid if sheet is not None]


def _find(items: Sequence[Reduced], **others: Sequence[Reduced]) -> dict[str, Found]:
    device = items[0].device
    assert device is not None
    chart = make_chart(device, channels=items[0].channels)
    keys = {(name[:2], name[3:]): _lay(them, chart) for name, them in others.items()}
    named = {
        key: [
            replace(sheet, name=first.name) for sheet, first in zip(sheets, _lay(items, chart), strict=True)
        ]
        for key, sheets in keys.items()
    }
    return find_everything(_lay(items, chart), chart, others=named)


def test_white_and_black_are_those_of_the_model(reduced: Maker) -> None:
    """The model without scatter is the truth; one reading scatters by about 0.05 dE."""
    found = _find([reduced("a.txt", PERFECT)])
    white = lab_from_reflectance(
        reflectance(WHITE, medium=_matte(), condition="M1"), wavelengths_nm=WAVELENGTHS_NM
    )[0]
    for name, expected in zip(("white_l", "white_a", "white_b"), white, strict=True):
        assert found[name].values[0] == pytest.approx(expected, abs=0.2)
    black = reflectance(BLACK, medium=_matte(), condition="M1")
    dmax = visual_density(black, wavelengths_nm=WAVELENGTHS_NM)[0]
    assert found["dmax_visual"].values[0] == pytest.approx(dmax, abs=0.03)
    assert "R0 G0 B0" in found["black_l"].detail


def _matte():  # type: ignore[no-untyped-def]
    from laydown.science.prints import MATTE_COTTON

    return MATTE_COTTON


def test_every_finding_is_in_the_catalogue(reduced: Maker, printed: Printer) -> None:
    lit = [reduced(f"s{n}.txt", printed(n)) for n in (1, 2)]
    found = _find(lit, M2_white=[reduced(f"s{n}.txt", printed(n), condition="M2") for n in (1, 2)])
    assert set(found) <= set(METRICS)
    assert {"brightener_db", "gamut_volume", "sheet_spread", "repeat_mcdm", "tone_reversal"} <= set(found)


def test_brightener_needs_the_same_sheet_without_uv(reduced: Maker, printed: Printer) -> None:
    lit = [reduced("s1.txt", printed(1), medium=BRIGHT_MATTE)]
    dark = [reduced("s1.txt", printed(1), medium=BRIGHT_MATTE, condition="M2")]
    assert "brightener_db" not in _find(lit)
    assert _find(lit, M2_white=dark)["brightener_db"].values[0] > 2.0
    assert "brightener_db" not in _find(dark, M1_white=lit)


def test_opacity_from_both_backings(reduced: Maker, printed: Printer) -> None:
    over_white = [reduced("s1.txt", printed(1))]
    over_black = [reduced("s1.txt", printed(1), backing="black")]
    opacity = _find(over_white, M1_black=over_black)["opacity"].values[0]
    assert 80.0 < opacity < 100.0
    assert "opacity" not in _find(over_white)


def test_order_of_patches_does_not_matter(reduced: Maker, printed: Printer) -> None:
    straight = reduced("a.txt", printed(1))
    order = np.random.default_rng(5).permutation(len(straight.lab))
    shuffled = Reduced(
        **{name: getattr(straight, name) for name in straight.__slots__}
        | {
            "device": straight.device[order],  # type: ignore[index]
            "lab": straight.lab[order],
            "visual": straight.visual[order],
            "status_t": straight.status_t[order],
            "ids": tuple(straight.ids[row] for row in order),
        }
    )
    first, second = _find([straight]), _find([shuffled])
    for name in first:
        assert second[name].values == pytest.approx(first[name].values, nan_ok=True), name


def test_a_sheet_that_lost_patches_is_still_on_its_chart(reduced: Maker, printed: Printer) -> None:
    whole = reduced("a.txt", printed(1))
    assert whole.device is not None
    chart = make_chart(whole.device, channels=whole.channels)
    rows = np.arange(len(whole.lab))
    assert place_on_chart(chart, reduced("b.txt", printed(1), keep=rows[2:])) is not None
    assert place_on_chart(chart, reduced("c.txt", printed(1), keep=rows[20:])) is None


def test_a_surface_colour_that_is_missing_is_bridged_but_a_corner_is_not(
    reduced: Maker, printed: Printer
) -> None:
    items = [reduced(f"{name}.txt", printed(1)) for name in "abc"]
    device = items[0].device
    assert device is not None
    on_face = np.flatnonzero(
        (device[:, 0] == 1.0) & (device[:, 1] > 0.1) & (device[:, 1:] < 0.9).all(axis=1)
    )[0]
    corner = np.flatnonzero(np.all(device == [1.0, 0.0, 0.0], axis=1))[0]
    whole, bridged, open_ = (item.lab.copy() for item in (items[0], items[0], items[0]))
    bridged[on_face] = np.nan
    open_[corner] = np.nan
    found = _find([replace(item, lab=lab) for item, lab in zip(items, (whole, bridged, open_), strict=True)])
    volumes = found["gamut_volume"].values
    assert volumes[1] == pytest.approx(volumes[0], rel=0.03)
    assert volumes[1] != volumes[0]
    assert np.isnan(volumes[2])
    assert "1 sheet(s) lack too many colours" in found["gamut_volume"].note
    sectors = sum(found[f"gamut_{hue}"].values[1] for hue in HUE_SECTORS)
    assert sectors == pytest.approx(volumes[1])


def test_repeats_are_averaged_into_the_black_of_several_sheets(reduced: Maker, printed: Printer) -> None:
    items = [reduced(f"s{n}.txt", printed(n)) for n in (1, 2, 3)]
    found = _find(items)
    device = items[0].device
    assert device is not None
    rows = np.flatnonzero(np.all(device == 0.0, axis=1))
    assert found["black_l"].values == pytest.approx([item.lab[rows, 0].mean() for item in items])


def test_one_sheet_shows_its_darkest_single_patch(reduced: Maker, printed: Printer) -> None:
    item = reduced("s1.txt", printed(1))
    found = _find([item])
    assert found["black_l"].values[0] == pytest.approx(item.lab[:, 0].min())
    assert "single patch" in found["black_l"].detail


def test_a_hook_is_found_and_named(reduced: Maker, printed: Printer) -> None:
    items = []
    for n in (1, 2, 3):
        item = reduced(f"s{n}.txt", printed(n))
        assert item.device is not None
        full = np.all(item.device == 0.0, axis=1)
        lab, visual = item.lab.copy(), item.visual.copy()
        next_darkest = np.argmin(np.where(full, np.inf, lab[:, 0]))
        lab[next_darkest], visual[next_darkest] = lab[full].mean(axis=0), visual[full].mean()
        lab[full, 0] += 3.0
        visual[full] -= 0.1
        items.append(replace(item, lab=lab, visual=visual))
    found = _find(items)
    assert "hook" in found["ink_limit_hook"].detail
    assert "lower ink limit" in found["ink_limit_hook"].note
    assert "R0 G0 B0" not in found["black_l"].detail


def test_without_any_colour_there_is_nothing_to_reduce() -> None:
    bare = Readings("a.txt", ("1",), ("",), np.array([4]), channels=("R", "G", "B"), device=np.ones((1, 3)))
    with pytest.raises(NotEnoughData, match=r"a\.txt: the file has device values but no spectra"):
        reduce_readings(bare)


def test_components_tell_sheets_from_places_and_readings(reduced: Maker, printed: Printer) -> None:
    """A shift of one whole sheet is a component of sheets; noise put on one reading is one of readings."""
    rng = np.random.default_rng(8)
    quiet, shifted = [], []
    for n in range(6):
        item = reduced(f"s{n}.txt", PERFECT)
        quiet.append(item)
        shifted.append(replace(item, lab=item.lab + rng.normal(0.0, 2.0, 3)))
    before, after = _find(quiet), _find(shifted)
    assert before["component_sheet"].values[0] < 0.1
    assert after["component_sheet"].values[0] == pytest.approx(2.0 * np.sqrt(3.0), rel=0.5)
    assert after["component_place"].values[0] == pytest.approx(before["component_place"].values[0], rel=0.01)
    assert "component_reading" not in after
    assert "holds the reading too" in after["component_place"].detail


def test_reading_twice_gives_the_reading_its_own_component(reduced: Maker, printed: Printer) -> None:
    chart_of = reduced("a.txt", PERFECT)
    assert chart_of.device is not None
    chart = make_chart(chart_of.device, channels=chart_of.channels)
    rng = np.random.default_rng(9)
    laid = []
    for n in range(4):
        first = reduced(f"s{n}.txt", printed(n))
        second = replace(first, lab=first.lab + rng.normal(0.0, 0.5, first.lab.shape))
        sheet = lay_on_chart(Sheet(f"s{n}", (first, second)), (first, second), chart)
        assert sheet is not None
        laid.append(sheet)
    found = find_everything(laid, chart, others={})
    # The difference of two readings carries the noise once: variance 3 x 0.5^2 / 2 for each of them.
    assert found["component_reading"].values[0] == pytest.approx(np.sqrt(3 * 0.25 / 2), rel=0.15)
    assert found["reading_spread"].values.size == 4


def test_density_above_paper_is_black_minus_white(reduced: Maker, printed: Printer) -> None:
    item = reduced("a.txt", printed(1))
    assert item.device is not None
    white = item.visual[np.all(item.device == 1.0, axis=1)].mean()
    found = _find([item])
    assert found["dmax_over_paper"].values[0] == pytest.approx(found["dmax_visual"].values[0] - white)


def test_a_colour_a_sheet_lacks_is_missing_on_that_sheet(reduced: Maker, printed: Printer) -> None:
    """Black lost on one of three sheets: that sheet has no black, and the others keep theirs."""
    whole = [reduced(f"s{n}.txt", printed(n)) for n in (1, 2, 3)]
    device = whole[0].device
    assert device is not None
    without = np.flatnonzero(~np.all(device == 0.0, axis=1))
    lost = reduced("s2.txt", printed(2), keep=without)
    black, before = _find([whole[0], lost, whole[2]])["black_l"], _find(whole)["black_l"]
    assert np.isnan(black.values).tolist() == [False, True, False]
    assert black.values[[0, 2]] == pytest.approx(before.values[[0, 2]])


def test_a_sheet_without_white_has_no_whiteness(reduced: Maker, printed: Printer) -> None:
    whole = [reduced(f"s{n}.txt", printed(n)) for n in (1, 2)]
    device = whole[0].device
    assert device is not None
    lost = reduced("s2.txt", printed(2), keep=np.flatnonzero(~np.all(device == 1.0, axis=1)))
    found = _find([whole[0], lost])
    for name in ("white_l", "whiteness_cie", "r457"):
        assert np.isnan(found[name].values).tolist() == [False, True], name


def test_a_chart_without_white_says_what_stands_in(reduced: Maker, printed: Printer) -> None:
    item = reduced("a.txt", printed(1))
    assert item.device is not None
    rows = np.flatnonzero(~np.all(item.device == 1.0, axis=1))
    found = _find([reduced("a.txt", printed(1), keep=rows)])
    assert found["white_l"].basis
    assert "lightest one is taken" in found["white_l"].note
    assert "whiteness_cie" not in found
    assert _find([item])["white_l"].basis == ""


def test_status_t_dmax_is_the_largest_filter_of_the_mean_black(reduced: Maker, printed: Printer) -> None:
    items = [reduced(f"s{n}.txt", printed(n)) for n in (1, 2, 3)]
    found = _find(items)
    device = items[0].device
    assert device is not None
    rows = np.flatnonzero(np.all(device == 0.0, axis=1))
    expected = [item.status_t[rows].mean(axis=0).max() for item in items]
    assert found["dmax_status_t"].values == pytest.approx(expected)


def test_the_darkest_is_chosen_from_all_sheets(reduced: Maker, printed: Printer) -> None:
    items = [reduced(f"s{n}.txt", printed(n)) for n in (1, 2, 3)]
    device = items[0].device
    assert device is not None
    next_darkest = int(np.argsort(np.where(np.all(device == 0.0, axis=1), np.inf, items[0].lab[:, 0]))[0])
    lab = items[0].lab.copy()
    lab[next_darkest, 0] = lab[np.all(device == 0.0, axis=1), 0].min() - 1.0
    found = _find([replace(items[0], lab=lab), *items[1:]])
    assert "R0 G0 B0" in found["black_l"].detail


def test_repeated_readings_are_averaged(reduced: Maker, printed: Printer) -> None:
    first = reduced("a.txt", printed(1))
    second = replace(first, lab=first.lab + np.array([2.0, 0.0, 0.0]))
    assert first.device is not None
    chart = make_chart(first.device, channels=first.channels)
    sheet = lay_on_chart(Sheet("s", (first, second)), (first, second), chart)
    alone = lay_on_chart(Sheet("s", (first,)), (first,), chart)
    assert sheet is not None
    assert alone is not None
    assert sheet.lab == pytest.approx(alone.lab + np.array([1.0, 0.0, 0.0]))


def test_a_doubted_white_patch_is_kept_out_of_the_white_spectrum() -> None:
    chart = demonstration_chart(rng=np.random.default_rng(4))
    device = chart.device_rgb
    rows = np.flatnonzero(np.all(device == 1.0, axis=1))
    spectra = reflectance(device, medium=_matte(), condition="M1")
    clean = spectra[rows[1]].copy()
    spectra[rows[0]] *= 0.6
    lines = np.arange(len(device))
    readings = Readings(
        "a.txt", chart.ids, chart.ids, lines, channels=("R", "G", "B"), device=device,
        wavelengths_nm=WAVELENGTHS_NM, reflectance=spectra,
    )  # fmt: skip
    told = reduce_readings(readings)
    assert [suspect.row for suspect in told.suspects] == [rows[0]]
    assert told.white == pytest.approx(clean)


def test_a_finely_graded_chart_is_laid_on_itself(reduced: Maker) -> None:
    """Device values closer together than rounding in a file must not run into one another."""
    rng = np.random.default_rng(12)
    item = reduced("a.txt", PERFECT)
    fine = replace(item, device=rng.random((len(item.lab), 3)))
    assert fine.device is not None
    chart = make_chart(fine.device, channels=fine.channels)
    assert len(chart.device) == len(fine.device)
    assert place_on_chart(chart, fine) is not None


def test_greys_alone_enclose_no_volume(reduced: Maker, printed: Printer) -> None:
    item = reduced("a.txt", printed(1))
    device = item.device
    assert device is not None
    greys = np.flatnonzero(np.ptp(device, axis=1) < 1e-9)
    grey = reduced("a.txt", printed(1), keep=greys)
    flat = replace(grey, lab=grey.lab * np.array([1.0, 0.0, 0.0]))
    assert np.isnan(_find([flat])["gamut_volume"].values).all()
