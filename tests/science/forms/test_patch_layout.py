"""Patches in rows: what fits, where each comes to lie, what is drawn between and beside them."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from laydown.kernel.errors import BadSetting
from laydown.science.forms.choose_patches import choose_patches
from laydown.science.forms.control_strip import control_strip
from laydown.science.forms.drawing import Grid, draw_bands
from laydown.science.forms.page import Block, Box, Page, check_page
from laydown.science.forms.patch_arrangement import alike_neighbours, apparent, arrange_patches
from laydown.science.forms.patch_layout import fit_patches, lay_out_patches, row_letters
from laydown.science.forms.patch_set import CMYK, RGB, patches_of
from laydown.science.forms.reader import (
    BORDER_CONTRAST,
    FLATBED_SCANNER,
    SPOT_READER,
    STRIP_READER,
    Reader,
    check_reader,
)

A4 = Box(10.0, 10.0, 287.0, 200.0)
READERS = [SPOT_READER, STRIP_READER, FLATBED_SCANNER]
BARE_STRIP = replace(STRIP_READER, spacer="none", gap_mm=0.0)


def laid_out(count=200, area=A4, reader=STRIP_READER, seed=1, **how):
    return lay_out_patches(choose_patches(count, **how), area, reader, rng=np.random.default_rng(seed))


def test_what_fits_is_measured_out():
    plain = Reader("spot", 10.0, 10.0, label_pt=1.0)  # labels nearly without room
    assert fit_patches(Box(0, 0, 103.0, 101.5), plain).patches == 100
    assert fit_patches(Box(0, 0, 99.9, 101.5), plain).columns == 9
    # 245 mm less two leads of 14 mm leave 217 mm: 24 patches of 8 mm and 23 gaps of 1 mm are 215 mm.
    fit = fit_patches(A4, STRIP_READER)
    assert (fit.columns, fit.grids) == (24, 1)
    # 190 mm less the line of numbers and one patch of 9 mm, in steps of 11 mm.
    assert fit.rows == int((190.0 - 9.0 - 7.0 * 25.4 / 72.0 * 1.35) / 11.0) + 1


def test_long_rows_are_broken_into_grids():
    wide = fit_patches(Box(0, 0, 1100, 300), STRIP_READER)
    assert wide.grids == 4
    assert wide.columns == 24
    assert fit_patches(Box(0, 0, 1100, 300), replace(STRIP_READER, longest_row_mm=None)).grids == 1


@pytest.mark.parametrize("area", [Box(0, 0, 20, 200), Box(0, 0, 200, 8)])
def test_too_small_an_area_is_refused(area):
    with pytest.raises(BadSetting, match="no row of patches fits"):
        fit_patches(area, SPOT_READER)


@pytest.mark.parametrize(
    "wrong",
    [
        {"patch_width_mm": 0.0},
        {"gap_mm": -1.0},
        {"spacer": "black", "gap_mm": 0.0},
        {"row_pitch_mm": 5.0},
    ],
)
def test_impossible_readers_are_refused(wrong):
    with pytest.raises(BadSetting):
        check_reader(replace(STRIP_READER, **wrong))


def test_rows_are_lettered_on():
    assert [row_letters(row) for row in (0, 25, 26, 51, 52, 701, 702)] == [
        "A",
        "Z",
        "AA",
        "AZ",
        "BA",
        "ZZ",
        "AAA",
    ]


@settings(deadline=None, max_examples=25)
@given(
    st.integers(60, 700),
    st.floats(120.0, 900.0),
    st.floats(80.0, 400.0),
    st.sampled_from([*READERS, BARE_STRIP]),
    st.integers(0, 2**32 - 1),
)
def test_every_patch_is_laid_once_and_nothing_lies_over_anything(count, width, height, reader, seed):
    area = Box(7.3, 11.1, 7.3 + width, 11.1 + height)
    found = laid_out(count, area, reader, seed)
    assert sorted(found.order.tolist()) == list(range(count))
    assert len(found.pages) == -(-count // found.fit.patches)
    names = [place.name for place in found.places]
    assert len(set(names)) == count
    drawn = [one for page in found.pages for one in page if one.kind == "patch"]
    assert [one.name for one in drawn] == names
    for number, elements in enumerate(found.pages):
        check_page(Page(f"{number}", area.right_mm + 5, area.bottom_mm + 5, RGB, elements))
        assert all(area.inset(-1e-6).holds(one.box) for one in elements)
    for one, row in zip(drawn, found.order, strict=True):
        assert one.facts["patch"] == found.patches.ids[row]
        assert one.facts["device"] == tuple(found.patches.device[row].tolist())


def test_the_same_seed_lays_out_the_same():
    np.testing.assert_array_equal(laid_out(seed=5).order, laid_out(seed=5).order)
    assert (laid_out(seed=5).order != laid_out(seed=6).order).sum() > 100


def test_the_control_strip_comes_first_in_its_own_order():
    found = laid_out()
    strip = control_strip()
    np.testing.assert_array_equal(found.patches.codes[found.order[: len(strip)]], strip.codes)


@pytest.mark.parametrize("ppi", [300, 360])
def test_drawn_patches_hold_their_value_in_every_pixel(ppi):
    found = laid_out(60, Box(3, 3, 160, 90), replace(STRIP_READER, lead_in_mm=3.0, lead_out_mm=3.0))
    page = Page("1", 163.0, 93.0, RGB, found.pages[0])
    pixels = np.concatenate(list(draw_bands(page, ppi=ppi)))
    grid = Grid(ppi)
    for one in found.pages[0]:
        if one.kind in ("patch", "spacer"):
            top, bottom, left, right = grid.window(one.box)
            (paint,) = one.paints
            assert isinstance(paint, Block)
            assert (pixels[top:bottom, left:right] == np.round(np.array(paint.colour) * 255)).all()


@pytest.mark.parametrize("reader", [SPOT_READER, FLATBED_SCANNER, STRIP_READER])
@pytest.mark.parametrize("seed", [1, 2])
def test_repeats_lie_far_apart_and_everywhere(reader, seed):
    found = laid_out(400, Box(0, 0, 280, 230), reader, seed, question="evenness")
    assert len(found.pages) <= 2
    for code in np.unique(found.patches.codes[found.patches.of_role("anchor")], axis=0):
        for page in range(len(found.pages)):
            here = [
                place.box.middle_mm
                for place, row in zip(found.places, found.order, strict=True)
                if place.page == page
                and found.patches.roles[row] == "anchor"
                and (found.patches.codes[row] == code).all()
            ]
            if len(here) < 8:
                continue
            spots = np.array(here)
            every = np.array([place.box.middle_mm for place in found.places if place.page == page])
            apart = np.linalg.norm(spots[:, None] - spots[None], axis=-1)
            apart[np.diag_indices(len(spots))] = np.inf
            area = len(every) * (found.places[1].box.left_mm - found.places[0].box.left_mm) * reader.pitch_mm
            # Of so many points at random the nearest pair would be close to touching; 0.3 of the side of the
            # square that each has to itself is our own judgement.
            assert apart.min() > 0.3 * np.sqrt(area / len(spots))
            middle = np.median(every, axis=0)
            quarters = {(x > middle[0], y > middle[1]) for x, y in spots}
            assert len(quarters) == 4


def test_neighbours_differ_where_there_are_no_spacers():
    found = laid_out(600, Box(10, 10, 560, 200), BARE_STRIP)
    light = apparent(found.patches)[found.order]
    alike = []
    for at, (one, other) in enumerate(zip(found.places, found.places[1:], strict=False)):
        if one.row == other.row and np.abs(light[at] - light[at + 1]).max() < BORDER_CONTRAST.value:
            alike.append(one.name)
    ends = [at for at, place in enumerate(found.places) if place.column in (0, found.fit.columns - 1)]
    pale = [at for at in ends if (1.0 - light[at]).max() < BORDER_CONTRAST.value]
    assert alike == []
    assert pale == [0]  # the control strip begins with bare paper
    assert found.alike == 1
    shuffled = np.random.default_rng(0).permutation(len(light))
    pairs = np.stack([np.arange(599), np.arange(1, 600)], axis=1)
    by_chance = alike_neighbours(found.patches, shuffled, pairs, least_contrast=BORDER_CONTRAST.value)
    assert by_chance.sum() > 5  # chance alone would not do


def test_what_cannot_be_told_apart_is_counted():
    greys = patches_of(np.full((10, 3), 128), "own", channels=RGB)
    found = lay_out_patches(greys, A4, BARE_STRIP, rng=np.random.default_rng(0))
    assert found.alike == 9


def test_spacers_stand_out_from_both_neighbours():
    found = laid_out(400)
    page = found.pages[0]
    by_name = {one.name: one for one in page if one.kind == "patch"}
    spacers = [one for one in page if one.kind == "spacer"]
    assert len(spacers) >= 400 - 17
    names = list(by_name)
    for one in spacers:
        side, name = one.name.split()
        colour = np.array(one.paints[0].colour)
        beside = [by_name[name]]
        following = names.index(name) + 1
        if (
            side == "after"
            and following < len(names)
            and by_name[names[following]].facts["row"] == beside[0].facts["row"]
        ):
            beside.append(by_name[names[following]])
        devices = np.array([patch.facts["device"] for patch in beside])
        # Between black and white any spacer looks like one of the two; then the border needs none.
        if np.ptp(devices, axis=0).max() < 0.5:
            assert np.abs(colour - devices).max(axis=1).min() >= 0.25


@pytest.mark.parametrize(("spacer", "colour"), [("white", (0.0,) * 4), ("black", (0.0, 0.0, 0.0, 1.0))])
def test_spacers_in_ink(spacer, colour):
    reader = replace(STRIP_READER, spacer=spacer)
    found = lay_out_patches(choose_patches(100, channels=CMYK), A4, reader, rng=np.random.default_rng(1))
    colours = {one.paints[0].colour for one in found.pages[0] if one.kind == "spacer"}
    assert colours == {colour}


def test_rows_and_columns_are_named_beside_the_patches():
    found = laid_out()
    page = found.pages[0]
    rows = [one for one in page if one.kind == "row label"]
    columns = [one for one in page if one.kind == "column label"]
    assert [one.name for one in rows] == [row_letters(row) for row in range(len(rows))]
    assert [one.name.split()[0] for one in columns] == [str(n + 1) for n in range(24)]
    marks = [one for one in page if one.kind == "row mark"]
    assert len(marks) == len(rows)
    first = next(one for one in page if one.kind == "patch")
    assert first.box.left_mm - marks[0].box.right_mm == pytest.approx(STRIP_READER.lead_in_mm)


def test_pages_follow_one_another():
    found = laid_out(300, Box(0, 0, 287, 120))
    assert len(found.pages) == 2
    second = next(one for one in found.pages[1] if one.kind == "patch")
    assert second.facts["row"] == 1
    assert second.name == f"{row_letters(found.fit.rows)}1"


def test_no_patches_are_refused():
    nothing = patches_of(np.zeros((0, 3), dtype=np.int64), "own", channels=RGB)
    with pytest.raises(BadSetting, match="no patches"):
        lay_out_patches(nothing, A4, SPOT_READER, rng=np.random.default_rng(0))


def test_inks_darken_what_they_should():
    inks = patches_of(np.eye(5, dtype=np.int64) * 255, "own", channels=tuple("CMYKO"))
    np.testing.assert_array_equal(apparent(inks), [[0, 1, 1], [1, 0, 1], [1, 1, 0], [0, 0, 0], [0, 0, 0]])


@settings(deadline=None, max_examples=30)
@given(st.integers(31, 120), st.integers(1, 4), st.integers(0, 1000))
@example(118, 4, 14)  # places that coincide: these were once searched for ever
@example(81, 2, 288)
def test_any_places_will_do(count, pages, seed):
    rng = np.random.default_rng(seed)
    patches = choose_patches(max(count, 60), question="evenness")
    n = len(patches)
    places = np.column_stack(
        [np.sort(rng.integers(0, pages, n)), rng.integers(0, 9, n), rng.integers(0, 9, n)]
    )
    pairs = np.stack([np.arange(n - 1), np.arange(1, n)], axis=1)
    order = arrange_patches(
        patches, places.astype(float), neighbours=pairs, ends=np.arange(0, n, 7), rng=rng, least_contrast=0.2
    )
    assert sorted(order.tolist()) == list(range(n))
