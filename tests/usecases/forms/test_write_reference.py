"""The reference file of a form, read back by the reader of measurement files."""

from __future__ import annotations

import numpy as np
import pytest

from laydown.kernel.errors import BadSetting
from laydown.science.forms.choose_patches import choose_patches
from laydown.science.forms.geometry import page_geometry
from laydown.science.forms.page import Box, Page
from laydown.science.forms.patch_layout import lay_out_patches
from laydown.science.forms.reader import SPOT_READER
from laydown.science.readings.target import read_target
from laydown.usecases.forms.write_reference import write_reference

CHANNELS = [("R", "G", "B"), ("C", "M", "Y", "K"), tuple("CMYKOG")]


def make_pages(channels, form="F7K2"):
    laid = lay_out_patches(
        choose_patches(150, channels=channels), Box(5, 5, 205, 60), SPOT_READER, rng=np.random.default_rng(1)
    )
    pages = [
        page_geometry(Page(f"D{number}", 210, 100, channels, elements), form=form, ppi=360)
        for number, elements in enumerate(laid.pages, start=1)
    ]
    return laid, pages


@pytest.mark.parametrize("channels", CHANNELS)
def test_device_values_come_back_as_they_are_printed(channels):
    laid, pages = make_pages(channels)
    assert len(pages) == 2
    back = read_target(write_reference(pages), file="form.txt")
    np.testing.assert_array_equal(np.round(back.device * 255), laid.patches.codes[laid.order])
    np.testing.assert_allclose(back.device, laid.device, atol=1e-8)
    assert back.device_scale.value == (255 if channels == ("R", "G", "B") else 100)
    assert back.ids == tuple(str(number) for number in range(1, 151))
    assert back.names == tuple(laid.patches.ids[row] for row in laid.order)


def test_places_are_named_as_beside_the_patches():
    laid, pages = make_pages(CHANNELS[0])
    lines = write_reference(pages).decode().splitlines()
    fields = lines[lines.index("BEGIN_DATA_FORMAT") + 1].split("\t")
    assert fields[:3] == ["SAMPLE_ID", "SAMPLE_NAME", "SAMPLE_LOC"]
    assert {"RGB_R", "RGB_G", "RGB_B"} <= set(fields)
    rows = lines[lines.index("BEGIN_DATA") + 1 : lines.index("END_DATA")]
    assert [row.split("\t")[2].strip('"') for row in rows] == [place.name for place in laid.places]
    assert '"Form F7K2, pages D1, D2"' in "\n".join(lines)


def test_rows_run_on_over_the_pages():
    laid, pages = make_pages(CHANNELS[0])
    back = read_target(write_reference(pages), file="form.txt")
    np.testing.assert_array_equal(back.positions[:, 0] - back.positions[0, 0], laid.positions[:, 0])
    one = read_target(write_reference(pages[1:]), file="page.txt")
    assert len(one) == len(pages[1].patches)


def test_what_is_no_form_is_refused():
    with pytest.raises(BadSetting, match="one form"):
        write_reference([])
    with pytest.raises(BadSetting, match="one form"):
        write_reference([*make_pages(CHANNELS[0])[1], *make_pages(CHANNELS[0], form="other")[1]])
    empty = page_geometry(Page("P1", 10, 10, ("R", "G", "B"), ()), form="F", ppi=360)
    with pytest.raises(BadSetting, match="no patches"):
        write_reference([empty])
