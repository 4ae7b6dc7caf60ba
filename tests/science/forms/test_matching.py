"""Which page a file is of and how it was read: by device values, by colours, by both, and when to refuse."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from laydown.science.colour import lab_from_reflectance
from laydown.science.forms.choose_patches import choose_patches
from laydown.science.forms.expected_pages import ExpectedPage, expected_page
from laydown.science.forms.geometry import page_geometry
from laydown.science.forms.matched import Matched, NotMatched
from laydown.science.forms.matching import match_pages
from laydown.science.forms.page import Box, Page
from laydown.science.forms.patch_layout import lay_out_patches
from laydown.science.forms.patch_set import CMYK, RGB
from laydown.science.forms.reader import STRIP_READER
from laydown.science.forms.reading_ways import IN_ORDER, TURNED, Way, every_way, order_of
from laydown.science.prints import (
    BARYTA,
    CANVAS,
    MATTE_COTTON,
    WAVELENGTHS_NM,
    Noise,
    print_sheet,
    read_sheet,
    reflectance,
)


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
    named = f"Row {letters[0]} was" if len(gone) == 1 else f"Rows {' and '.join(letters)} were"
    assert f"{named} not read." in found.words


@pytest.mark.parametrize("twice", [0, 3, 8])
@pytest.mark.parametrize("by", ["device values", "colours"])
def test_a_row_read_twice_is_left_over(twice, by):
    order = np.concatenate(
        [row if at != twice else np.concatenate([row, row]) for at, row in enumerate(ROWS)]
    )
    noise = np.random.default_rng(5).normal(scale=0.1, size=(len(order), 3))
    read = {"device": PAGE.device[order]} if by == "device values" else {"values": sheet(PAGE)[order] + noise}
    found = match_pages(OTHERS, **read)
    assert isinstance(found, Matched)
    assert len(found.missing) == 0
    assert len(found.extra) == 0
    assert len(found.twice) == len(ROWS[twice])
    np.testing.assert_array_equal(order[found.source], np.arange(200))
    first = ROWS[twice][0] + 1
    told = f"{len(ROWS[twice])} readings of the file (number {first} to {first + len(ROWS[twice]) - 1}) were"
    assert f"{told} of patches that were read again later" in found.words


@pytest.mark.parametrize("turned", [[1], [7], [2, 5]])
def test_rows_pulled_the_other_way_are_turned_round(turned):
    order = np.concatenate([row[::-1] if at in turned else row for at, row in enumerate(ROWS)])
    found = match_pages(OTHERS, values=sheet(PAGE)[order])
    assert isinstance(found, Matched)
    assert found.turned == tuple("ABCDEFGHI"[row] for row in turned)
    np.testing.assert_array_equal(order[found.source], np.arange(200))
    assert "pulled the other way" in found.words


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
    assert (found.way, found.told_by) == (TURNED, "colours against device values")
    agreed = match_pages(OTHERS, device=PAGE.device, values=sheet(PAGE))
    assert isinstance(agreed, Matched)
    assert (agreed.way, agreed.told_by) == (IN_ORDER, "device values and colours")


def test_a_sorted_file_is_matched_where_it_says_where_its_patches_lie():
    order = np.lexsort(PAGE.device.T)
    sorted_file = {"device": PAGE.device[order], "values": sheet(PAGE)[order]}
    found = match_pages(OTHERS, **sorted_file, positions=PAGE.positions[order] + 3)
    assert isinstance(found, Matched)
    assert found.way is None
    assert found.needs_consent
    np.testing.assert_array_equal(order[found.source], np.arange(200))
    assert "lists them in another order" in found.words
    by_the_user = match_pages([PAGE], **sorted_file, stated=True)
    assert isinstance(by_the_user, Matched)
    np.testing.assert_allclose(PAGE.device[order][by_the_user.source], PAGE.device)


def test_a_sorted_file_may_be_of_another_form_with_the_same_patches():
    other = make_pages("Z9", seed=77)[0]
    for positions in (None, other.positions):
        found = match_pages([PAGE], device=other.device, values=sheet(other), positions=positions)
        assert isinstance(found, NotMatched)
        assert "another form may have the same patches" in found.reason
        assert "say that it is this page" in found.todo


@pytest.mark.parametrize("steps", [100, 255, 1000, 65535])
def test_rounded_device_values_will_do(steps):
    found = match_pages([PAGE], device=np.round(PAGE.device * steps) / steps)
    assert isinstance(found, Matched)
    assert not found.needs_consent
    turned = match_pages([PAGE], device=np.round(PAGE.device[::-1] * steps) / steps)
    assert isinstance(turned, Matched)
    assert turned.way == TURNED


def test_the_control_strip_alone_is_of_every_form():
    strip = PAGE.on_strip
    assert strip is not None
    assert strip.sum() == 30
    for read in ({"device": PAGE.device[:45]}, {"values": sheet(PAGE)[:45]}):
        found = match_pages([PAGE], **read)
        assert isinstance(found, NotMatched)
        assert "30 of them of the control strip, which every form has" in found.reason
        by_the_user = match_pages([PAGE], **read, stated=True)
        assert isinstance(by_the_user, Matched)
        assert len(by_the_user.missing) == 155


@pytest.mark.parametrize("by", ["device values", "colours"])
def test_rows_read_out_of_turn_are_named(by):
    rows = list(ROWS)
    rows[2], rows[5] = rows[5], rows[2]
    order = np.concatenate(rows)
    read = {"device": PAGE.device[order]} if by == "device values" else {"values": sheet(PAGE)[order]}
    found = match_pages(OTHERS, **read)
    assert isinstance(found, Matched)
    assert found.moved == ("C", "F")
    assert "Rows C and F were read out of turn." in found.words
    assert found.changes == "48 of 200 readings go to other patches than in the order of the file."
    np.testing.assert_array_equal(order[found.source], np.arange(200))


def test_a_patch_left_out_and_a_patch_read_twice():
    order = np.insert(np.delete(np.arange(200), 60), 130, 130)  # reading 131 comes twice
    found = match_pages(OTHERS, values=sheet(PAGE)[order])
    assert isinstance(found, Matched)
    assert 60 in np.concatenate([found.missing, found.doubtful])
    there = np.flatnonzero(found.source >= 0)
    np.testing.assert_array_equal(order[found.source[there]], there)
    assert len(there) >= 196


def test_readings_of_something_else_in_between_belong_nowhere():
    rng = np.random.default_rng(8)
    values = np.insert(sheet(PAGE), 48, lab_of(rng.random((12, 3)), BARYTA), axis=0)
    found = match_pages(OTHERS, values=values)
    assert isinstance(found, Matched)
    assert found.extra.tolist() == list(range(48, 60))
    assert "12 readings of the file (number 49 to 60) belong nowhere on it." in found.words
    assert found.changes.endswith("12 readings are left out.")


def test_densities_will_do():
    expected = replace(PAGE, values=-PAGE.values[:, :1])
    density = 2.0 - np.log10(np.maximum(sheet(PAGE)[:, :1], 1.0)) * 1.3
    order = order_of(TURNED, PAGE.positions)
    found = match_pages([expected], values=density[order])
    assert isinstance(found, Matched)
    assert found.way == TURNED


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


@settings(deadline=None, max_examples=15)
@given(st.integers(0, 2**32 - 1), st.sampled_from([MATTE_COTTON, BARYTA, CANVAS]))
def test_colours_in_no_order_are_never_matched(seed, medium):
    rng = np.random.default_rng(seed)
    found = match_pages(OTHERS, values=rng.permutation(sheet(PAGE, medium)))
    assert isinstance(found, NotMatched)


def grid_page(device, form="X", columns=12) -> ExpectedPage:
    place = np.arange(len(device))
    positions = np.stack([place // columns, place % columns], axis=1)
    names = tuple(f"{chr(65 + row)}{column + 1}" for row, column in positions)
    return ExpectedPage(form, "1", RGB, device, positions, names, lab_of(device))


def test_a_page_that_looks_the_same_from_both_ends_is_told_with_what_is_uncertain():
    half = PAGE.device[:60]
    device = np.concatenate([half, half[::-1]])
    for read in ({"values": lab_of(device, BARYTA)}, {"device": device}):
        found = match_pages([grid_page(device)], **read)
        assert isinstance(found, Matched)
        assert TURNED in found.also
        assert found.needs_consent
        assert "It would fit as well had it been read otherwise" in found.words
        there = np.flatnonzero(found.source >= 0)
        np.testing.assert_allclose(device[found.source[there]], device[there])


def test_a_page_of_which_both_ends_are_alike_in_colour_only_is_refused():
    half = 0.2 + 0.6 * PAGE.device[:60]
    # Patches that no print tells apart, but whose device values are unlike.
    page = grid_page(np.concatenate([half, half[::-1] + 0.002]))
    found = match_pages([page], values=lab_of(np.concatenate([half, half[::-1]]), BARYTA))
    assert isinstance(found, NotMatched)
    assert "equally well" in found.reason
    assert "from the other end" in found.reason


def test_two_forms_with_the_same_pages_cannot_be_told_apart():
    for read in ({"device": PAGE.device}, {"values": sheet(PAGE)}):
        found = match_pages([PAGE, replace(PAGE, form="G")], **read)
        assert isinstance(found, NotMatched)
        assert "page D1 of form F7K2" in found.reason
        assert "page D1 of form G" in found.reason


def test_a_page_of_one_colour_says_nothing_of_its_order():
    flat = grid_page(np.full((120, 3), 0.5))
    found = match_pages([flat], device=flat.device)
    assert isinstance(found, Matched)
    assert found.also
    assert "only the places on the sheet are uncertain" in found.words


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
    bare = replace(PAGE, values=None)
    found = match_pages([bare], values=sheet(PAGE))
    assert isinstance(found, NotMatched)
    assert "no page has expected colours" in found.reason
    by_device = match_pages([bare], device=PAGE.device, values=sheet(PAGE))
    assert isinstance(by_device, Matched)
    assert by_device.told_by == "device values"
