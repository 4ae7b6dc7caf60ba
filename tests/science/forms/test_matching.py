"""Which page a file is of and how it was read: by device values, by colours, by both, and when to refuse."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from laydown.science.colour import lab_from_reflectance
from laydown.science.forms.choose_patches import choose_patches
from laydown.science.forms.geometry import page_geometry
from laydown.science.forms.matching import ExpectedPage, Matched, NotMatched, expected_page, match_pages
from laydown.science.forms.page import Box, Page
from laydown.science.forms.patch_layout import lay_out_patches
from laydown.science.forms.patch_set import CMYK, RGB
from laydown.science.forms.reader import STRIP_READER
from laydown.science.forms.reading_ways import IN_ORDER, TURNED, Way, every_way, order_of
from laydown.science.prints import BARYTA, CANVAS, MATTE_COTTON, WAVELENGTHS_NM, Noise, print_sheet, read_sheet, reflectance


def lab_of(device, medium=MATTE_COTTON):
    return np.asarray(lab_from_reflectance(reflectance(device, medium=medium), wavelengths_nm=WAVELENGTHS_NM))


def make_pages(name="F7K2", count=200, seed=1, height=200.0, **how) -> list[ExpectedPage]:
    """The pages of a form as its geometry tells them, with the colours of a matte print."""
    found = lay_out_patches(
        choose_patches(count, **how), Box(10, 10, 287, height), STRIP_READER, rng=np.random.default_rng(seed)
    )
    pages = []
    for number, elements in enumerate(found.pages):
        geometry = page_geometry(Page(f"D{number + 1}", 297, height + 10, RGB, elements), form=name, ppi=360)
        bare = expected_page(geometry)
        pages.append(expected_page(geometry, values=lab_of(bare.device)))
    return pages


PAGE = make_pages()[0]
OTHERS = [PAGE, *make_pages("B2", 180, 9, question="tone")]


def sheet(page: ExpectedPage, medium=BARYTA, seed=0) -> np.ndarray:
    """Lab of a noisy print of the page on another medium than was expected."""
    rng = np.random.default_rng(seed)
    noise = Noise()
    state = print_sheet(len(page), noise=noise, rng=rng)
    spectra = read_sheet(page.device, medium=medium, sheet_state=state, noise=noise, rng=rng)
    return np.asarray(lab_from_reflectance(spectra, wavelengths_nm=WAVELENGTHS_NM))


ROWS = [np.flatnonzero(PAGE.positions[:, 0] == row) for row in np.unique(PAGE.positions[:, 0])]


def test_a_page_is_told_by_its_geometry():
    assert len(PAGE) == 200
    assert PAGE.names[:2] == ("A1", "A2")
    assert PAGE.title == "page D1 of form F7K2"
    assert [len(row) for row in ROWS] == [24] * 8 + [8]


@pytest.mark.parametrize("way", every_way())
@pytest.mark.parametrize("by", ["device values", "colours"])
def test_every_way_of_reading_is_found(way, by):
    order = order_of(way, PAGE.positions)
    read = {"device": PAGE.device[order]} if by == "device values" else {"values": sheet(PAGE)[order]}
    found = match_pages(OTHERS, **read)
    assert isinstance(found, Matched)
    assert (found.page.form, found.way, found.told_by) == ("F7K2", way, by)
    np.testing.assert_array_equal(order[found.source], np.arange(200))
    assert found.needs_consent == (way != IN_ORDER)
    assert found.margin >= 0.1
    assert way.words in found.words


@pytest.mark.parametrize("gone", [[0], [8], [4], [2, 5], [0, 8]])
@pytest.mark.parametrize("way", [IN_ORDER, TURNED, Way(turn="there and back")])
@pytest.mark.parametrize("by", ["device values", "colours"])
def test_missing_rows_are_named(gone, way, by):
    order = order_of(way, PAGE.positions)
    order = order[~np.isin(PAGE.positions[order, 0], [PAGE.positions[ROWS[row][0], 0] for row in gone])]
    read = {"device": PAGE.device[order]} if by == "device values" else {"values": sheet(PAGE)[order]}
    found = match_pages(OTHERS, **read)
    assert isinstance(found, Matched)
    assert found.way == way
    assert found.missing.tolist() == sorted(np.concatenate([ROWS[row] for row in gone]).tolist())
    there = found.source >= 0
    np.testing.assert_array_equal(order[found.source[there]], np.flatnonzero(there))
    letters = [PAGE.names[ROWS[row][0]][0] for row in gone]
    assert ("row " if len(gone) == 1 else "rows ") + " and ".join(letters) + " not read" in found.words


@pytest.mark.parametrize("twice", [0, 3, 8])
@pytest.mark.parametrize("by", ["device values", "colours"])
def test_a_row_read_twice_is_left_over(twice, by):
    order = np.concatenate([row if at != twice else np.concatenate([row, row]) for at, row in enumerate(ROWS)])
    noise = np.random.default_rng(5).normal(scale=0.1, size=(len(order), 3))
    read = {"device": PAGE.device[order]} if by == "device values" else {"values": sheet(PAGE)[order] + noise}
    found = match_pages(OTHERS, **read)
    assert isinstance(found, Matched)
    assert len(found.missing) == 0
    assert len(found.extra) == len(ROWS[twice])
    np.testing.assert_array_equal(order[found.source], np.arange(200))
    assert f"{len(ROWS[twice])} readings belong nowhere or came twice" in found.words


@pytest.mark.parametrize("turned", [[1], [7], [2, 5]])
def test_rows_pulled_the_other_way_are_turned_round(turned):
    order = np.concatenate([row[::-1] if at in turned else row for at, row in enumerate(ROWS)])
    found = match_pages(OTHERS, values=sheet(PAGE)[order])
    assert isinstance(found, Matched)
    assert found.turned == tuple("ABCDEFGHI"[row] for row in turned)
    np.testing.assert_array_equal(order[found.source], np.arange(200))
    assert "read the other way" in found.words


def test_which_page_of_which_form():
    pages = make_pages(count=300, height=120.0)
    assert len(pages) == 2
    for page in pages:
        for read in ({"device": page.device}, {"values": sheet(page)}):
            found = match_pages([*pages, *OTHERS[1:]], **read)
            assert isinstance(found, Matched)
            assert (found.page.page, found.needs_consent) == (page.page, False)
    both = match_pages(pages, values=np.concatenate([sheet(page) for page in pages]))
    assert isinstance(both, Matched)
    assert both.page.page == "D1 and D2"
    assert not both.needs_consent


def test_colours_that_contradict_the_device_values_win():
    found = match_pages(OTHERS, device=PAGE.device, values=sheet(PAGE)[::-1])
    assert isinstance(found, Matched)
    assert (found.way, found.told_by) == (TURNED, "colours")
    agreed = match_pages(OTHERS, device=PAGE.device, values=sheet(PAGE))
    assert isinstance(agreed, Matched)
    assert (agreed.way, agreed.told_by) == (IN_ORDER, "device values and colours")


def test_a_file_sorted_otherwise_is_matched_by_its_device_values():
    order = np.lexsort(PAGE.device.T)
    found = match_pages(OTHERS, device=PAGE.device[order], values=sheet(PAGE)[order])
    assert isinstance(found, Matched)
    assert found.way is None
    np.testing.assert_allclose(PAGE.device[order][found.source], PAGE.device)
    assert "listed in another order" in found.words


def test_rounded_device_values_will_do():
    found = match_pages([PAGE], device=np.round(PAGE.device, 2))
    assert isinstance(found, Matched)
    assert not found.needs_consent


def test_densities_will_do():
    expected = ExpectedPage(**{**_fields(PAGE), "values": -PAGE.values[:, :1]})
    density = 2.0 - np.log10(np.maximum(sheet(PAGE)[:, :1], 1.0)) * 1.3
    order = order_of(TURNED, PAGE.positions)
    found = match_pages([expected], values=density[order])
    assert isinstance(found, Matched)
    assert found.way == TURNED


def _fields(page):
    return {name: getattr(page, name) for name in page.__dataclass_fields__}


def test_what_is_not_of_the_form_is_refused():
    rng = np.random.default_rng(3)
    stranger = choose_patches(200, question="evenness").device[rng.permutation(200)]
    other = match_pages(OTHERS, device=rng.random((200, 3)))
    assert isinstance(other, NotMatched)
    assert "have device values of" in other.reason
    unlike = match_pages(OTHERS, values=lab_of(stranger))
    assert isinstance(unlike, NotMatched)
    assert unlike.todo
    inks = match_pages(OTHERS, device=rng.random((200, 4)), channels=CMYK)
    assert isinstance(inks, NotMatched)
    assert "C/M/Y/K" in inks.reason
    wrong = match_pages(OTHERS, device=PAGE.device, values=rng.permutation(sheet(PAGE)))
    assert isinstance(wrong, NotMatched)
    assert "not like them in any order" in wrong.reason


@settings(deadline=None, max_examples=25)
@given(st.integers(0, 2**32 - 1), st.sampled_from([MATTE_COTTON, BARYTA, CANVAS]))
def test_colours_in_no_order_are_never_matched(seed, medium):
    rng = np.random.default_rng(seed)
    found = match_pages(OTHERS, values=rng.permutation(sheet(PAGE, medium)))
    assert isinstance(found, NotMatched)


def test_a_page_that_looks_the_same_both_ways_is_refused():
    half = PAGE.device[:60]
    device = np.concatenate([half, half[::-1]])
    positions = np.stack([np.arange(120) // 12, np.arange(120) % 12], axis=1)
    names = tuple(f"P{n}" for n in range(120))
    page = ExpectedPage("X", "1", RGB, device, positions, names, lab_of(device))
    found = match_pages([page], values=lab_of(device, BARYTA))
    assert isinstance(found, NotMatched)
    assert "more than one order" in found.reason


@pytest.mark.parametrize(
    ("read", "said"),
    [
        ({}, "neither device values nor colours"),
        ({"values": np.zeros((5, 3))}, "5 patches with a colour"),
        ({"device": np.full((30, 3), np.nan)}, "all empty"),
    ],
)
def test_too_little_to_go_by(read, said):
    found = match_pages([PAGE], **read)
    assert isinstance(found, NotMatched)
    assert said in found.reason


def test_no_expected_colours():
    bare = ExpectedPage(**{**_fields(PAGE), "values": None})
    found = match_pages([bare], values=sheet(PAGE))
    assert isinstance(found, NotMatched)
    assert "no page has expected colours" in found.reason
    by_device = match_pages([bare], device=PAGE.device, values=sheet(PAGE))
    assert isinstance(by_device, Matched)
    assert by_device.told_by == "device values"
