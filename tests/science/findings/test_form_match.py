"""A reading held against the pages of a form: the page, the order, and single rows that slipped."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from laydown.science.colour import xyz_from_lab
from laydown.science.findings.form_match import chart_of_page, match_reading, take_mended
from laydown.science.findings.mix_ups import suspect_mix_ups
from laydown.science.findings.reading_order import any_print
from laydown.science.findings.reduction import Reduced, Suspect, reduce_readings
from laydown.science.forms.choose_patches import choose_patches
from laydown.science.forms.expected_pages import ExpectedPage, expected_page
from laydown.science.forms.geometry import page_geometry
from laydown.science.forms.matched import Matched, NotMatched
from laydown.science.forms.page import Box, Page
from laydown.science.forms.patch_layout import lay_out_patches
from laydown.science.forms.patch_set import RGB
from laydown.science.forms.reader import STRIP_READER
from laydown.science.forms.reading_ways import IN_ORDER, TURNED
from laydown.science.prints import BARYTA, WAVELENGTHS_NM, Noise, print_sheet, read_sheet
from laydown.science.readings.types import Readings


def make_page(channels=RGB, seed=1) -> ExpectedPage:
    laid = lay_out_patches(
        choose_patches(190, channels=channels),
        Box(10, 10, 287, 200),
        STRIP_READER,
        rng=np.random.default_rng(seed),
    )
    page = Page("D1", 297, 210, channels, laid.pages[0])
    return expected_page(page_geometry(page, form="F7K2", ppi=360))


PAGE = make_page()


def read(order, *, device=True) -> Reduced:
    """A noisy sheet of the page, its rows in some order."""
    rng, noise = np.random.default_rng(4), Noise()
    state = print_sheet(len(PAGE), noise=noise, rng=rng)
    spectra = read_sheet(PAGE.device, medium=BARYTA, sheet_state=state, noise=noise, rng=rng)[order]
    n = len(order)
    return reduce_readings(
        Readings(
            file="sheet.txt",
            ids=tuple(str(number + 1) for number in range(n)),
            names=("",) * n,
            lines=np.zeros(n, dtype=np.int64),
            channels=RGB if device else (),
            device=PAGE.device[:n] if device else None,
            wavelengths_nm=np.asarray(WAVELENGTHS_NM),
            reflectance=spectra,
        ),
        check_rows=False,
    )


EVERY = np.arange(len(PAGE))


def test_a_sheet_read_as_it_should_be():
    found = match_reading(read(EVERY), [PAGE])
    assert isinstance(found.found, Matched)
    assert not found.found.needs_consent
    assert found.found.told_by == "device values and colours"
    assert found.slip is None


def test_a_turned_sheet_without_device_values():
    found = match_reading(read(EVERY[::-1], device=False), [PAGE, make_page(seed=2)])
    assert isinstance(found.found, Matched)
    assert found.found.way == TURNED
    np.testing.assert_array_equal(found.found.source, EVERY[::-1])


def test_a_turned_sheet_that_was_filed_in_order():
    found = match_reading(read(EVERY[::-1]), [PAGE])
    assert isinstance(found.found, Matched)
    assert (found.found.way, found.found.told_by) == (TURNED, "colours against device values")


def test_rows_exchanged_in_a_file_with_device_values_are_found():
    rows = [np.flatnonzero(PAGE.positions[:, 0] == row) for row in np.unique(PAGE.positions[:, 0])]
    rows[2], rows[5] = rows[5], rows[2]
    reading = read(np.concatenate(rows))
    found = match_reading(reading, [PAGE])
    assert isinstance(found.found, Matched)
    assert (found.found.way, found.found.moved) == (IN_ORDER, ("C", "F"))
    assert found.slip is None
    mended, right = take_mended(reading, found.found).lab, read(EVERY).lab
    assert np.linalg.norm(mended - right, axis=1).mean() < 2.0  # two readings of one print


def test_a_short_row_pulled_back_in_a_file_with_device_values_is_not_passed_over():
    last = np.flatnonzero(PAGE.positions[:, 0] == PAGE.positions[-1, 0])
    order = np.concatenate([EVERY[: last[0]], last[::-1]])
    found = match_reading(read(order), [PAGE])
    assert isinstance(found.found, Matched)
    names = [PAGE.names[place] for place in last]
    assert found.found.turned == ("H",) or [PAGE.names[place] for place in found.found.doubtful] == names
    assert found.answers


def test_cmyk_is_matched_by_its_colours():
    page = make_page(tuple("CMYK"))
    lab = any_print(page.device, channels=page.channels)
    n = len(page)
    reading = replace(
        read(EVERY[:n], device=False), lab=0.8 * lab[::-1] + np.array([10.0, 1.0, 2.0]), ids=tuple("x" * n)
    )
    found = match_reading(reading, [page, PAGE]).found
    assert isinstance(found, Matched)
    assert (found.page.channels, found.way) == (tuple("CMYK"), TURNED)
    assert take_mended(reading, found).channels == tuple("CMYK")


def test_the_user_is_told_what_was_found_and_may_choose():
    found = match_reading(read(EVERY[::-1]), [PAGE])
    assert "The sheet was read from the other end, from the last patch to the first." in found.sentence
    assert "190 of 190 readings go to other patches than in the order of the file" in found.sentence
    assert [answer.act for answer in found.answers] == ["mend", "keep"]
    assert found.answers[0].words.startswith("Take it mended: 190 of 190 readings go to other patches")
    assert found.answers[1].words.startswith("Take it as it is")
    assert match_reading(read(EVERY), [PAGE]).answers == ()
    strange = replace(read(EVERY, device=False), lab=np.random.default_rng(1).permutation(read(EVERY).lab))
    refused = match_reading(strange, [PAGE])
    assert refused.answers == ()
    assert refused.sentence.startswith("The file was not matched: its colours are not those of any page")


def test_a_mended_reading_has_the_device_values_that_were_printed():
    order = np.delete(EVERY, slice(24, 48))[::-1]
    reading = replace(
        read(order, device=False), suspects=(Suspect(0, "planted"), Suspect(5, "planted too", left_out=True))
    )
    found = match_reading(reading, [PAGE]).found
    assert isinstance(found, Matched)
    mended = take_mended(reading, found)
    assert (mended.ids, mended.channels) == (PAGE.names, RGB)
    np.testing.assert_array_equal(mended.device, PAGE.device)
    np.testing.assert_array_equal(mended.lab[order], reading.lab)
    np.testing.assert_array_equal(mended.visual[order], reading.visual)
    assert np.isnan(mended.lab[24:48]).all()
    assert [one.row for one in mended.suspects] == [order[0], order[5]]
    assert len(mended.lines) == len(PAGE)
    again = match_reading(mended, [PAGE]).found
    assert isinstance(again, Matched)
    assert again.way == IN_ORDER


def test_densities_are_enough():
    reading = read(EVERY[::-1], device=False)
    xyz = xyz_from_lab(reading.lab)
    nothing = np.full_like(reading.lab, np.nan)
    densities = replace(reading, lab=nothing, status_t=-np.log10(xyz / 100.0))
    visual = replace(reading, lab=nothing, status_t=nothing, visual=-np.log10(xyz[:, 1] / 100.0))
    for one in (densities, visual):
        found = match_reading(one, [PAGE]).found
        assert isinstance(found, Matched)
        assert found.way == TURNED


def test_inks_that_cannot_be_foretold_need_device_values():
    page = make_page(tuple("CMYKOG"))
    without = match_reading(read(EVERY, device=False), [page]).found
    assert isinstance(without, NotMatched)
    assert "no page has expected colours" in without.reason
    reading = replace(read(EVERY), device=page.device, channels=page.channels)
    found = match_reading(reading, [page]).found
    assert isinstance(found, Matched)
    assert found.told_by == "device values"


def test_the_page_as_a_chart_raises_no_questions():
    assert suspect_mix_ups(read(EVERY), medium="rag", chart=chart_of_page(PAGE)) == ()
