"""Pages as files are held against them: from their geometry, and all pages of a form as one."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from laydown.kernel.errors import BadSetting
from laydown.science.forms.choose_patches import choose_patches
from laydown.science.forms.expected_pages import candidates, expected_page
from laydown.science.forms.geometry import page_geometry
from laydown.science.forms.page import Box, Page
from laydown.science.forms.patch_layout import lay_out_patches
from laydown.science.forms.patch_set import RGB
from laydown.science.forms.reader import STRIP_READER

LAID = lay_out_patches(choose_patches(300), Box(10, 10, 287, 55), STRIP_READER, rng=np.random.default_rng(1))
GEOMETRIES = [
    page_geometry(Page(f"D{number}", 297, 100, RGB, elements), form="F7K2", ppi=360)
    for number, elements in enumerate(LAID.pages, 1)
]
PAGES = [expected_page(one) for one in GEOMETRIES]


def test_pages_hold_what_was_laid_out():
    assert len(PAGES) >= 3
    np.testing.assert_allclose(np.concatenate([page.device for page in PAGES]), LAID.device)
    assert [name for page in PAGES for name in page.names] == [place.name for place in LAID.places]
    assert PAGES[0].on_strip.sum() == 30
    assert PAGES[1].beyond_strip.all()
    assert replace(PAGES[0], on_strip=None).beyond_strip.all()


@pytest.mark.parametrize("fact", ["device", "row", "column"])
def test_a_patch_without_its_facts_is_refused(fact):
    page = GEOMETRIES[0]
    first = page.patches[0]
    broken = replace(first, facts={name: value for name, value in first.facts.items() if name != fact})
    with pytest.raises(BadSetting, match="patch A1 of page D1 has no device values, or no row and column"):
        expected_page(replace(page, elements=(broken,)))


def test_all_pages_of_a_form_come_after_its_single_pages():
    other = replace(PAGES[0], form="B2")
    found = candidates([*PAGES, other])
    assert [len(one.page) for one in found[:-1]] == [len(page) for page in (*PAGES, other)]
    whole = found[-1]
    assert whole.page.title.startswith("pages D1, D2")
    assert len(whole.page) == 300
    np.testing.assert_array_equal(whole.page.device, LAID.device)
    np.testing.assert_array_equal(whole.places, np.arange(300))
    assert whole.page.on_strip.sum() == 30
    rows = whole.page.positions[:, 0]
    assert (np.diff(rows) >= 0).all()
    assert len(np.unique(whole.page.positions, axis=0)) == 300
    assert len(candidates([other])) == 1


def test_expected_colours_of_a_form_are_known_where_those_of_all_its_pages_are():
    lab = [replace(page, values=np.full((len(page), 3), number)) for number, page in enumerate(PAGES)]
    assert candidates(lab)[-1].page.values.shape == (300, 3)
    assert candidates([PAGES[0], *lab[1:]])[-1].page.values is None
