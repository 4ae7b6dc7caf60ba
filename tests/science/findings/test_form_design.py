"""From an instrument, a size of patch and an area to placed patches and their precision, as a studio asks."""

from __future__ import annotations

import numpy as np
import pytest

from laydown.kernel.errors import BadSetting
from laydown.science.findings.form_design import HULL_DOUBT, SCANNER_DOUBT, across_area, design_patches
from laydown.science.forms.page import Box
from laydown.science.forms.reader import usual_reader
from laydown.science.prints import MATTE_COTTON

AREA = Box(0.0, 0.0, 200.0, 250.0)
CMYK = ("C", "M", "Y", "K")


def design(area=AREA, kind="strip", patch_mm=8.0, **how):
    how.setdefault("media", [MATTE_COTTON])
    return design_patches(area, usual_reader(kind, patch_mm=patch_mm), rng=np.random.default_rng(1), **how)


def test_an_area_is_filled_and_its_precision_told():
    found = design()
    assert len(found.layout.patches) == found.layout.fit.patches
    assert len(found.layout.pages) == 1
    assert found.doubts == ()
    assert found.precision is not None
    assert found.precision.patches == len(found.layout.patches)
    (size,) = found.precision.of("gamut_volume")
    assert abs(size.bias) < 0.01 * size.truth
    assert found.precision.largest_error("dmax_visual") < 0.05


def test_a_larger_area_smaller_patches_and_more_pages_tell_more():
    def off(**how) -> float:
        precision = design(**how).precision
        assert precision is not None
        return abs(precision.of("gamut_volume")[0].bias)

    small = off(area=Box(0, 0, 200, 120))
    assert off(area=Box(0, 0, 200, 400)) < small
    assert off(area=Box(0, 0, 200, 120), pages=3) < small
    assert off(area=Box(0, 0, 200, 120), patch_mm=5.5) < small


def test_worse_instruments_tell_less():
    def scatter(kind: str) -> float:
        precision = design(kind=kind, most=200).precision
        assert precision is not None
        return precision.of("dmax_visual")[0].deviation

    assert scatter("scanner") > 1.5 * scatter("spot")


def test_media_that_drift_over_the_page_are_foretold_where_patches_lie():
    found = design(most=120)
    middles = {
        found.layout.patches.ids[row]: place.box.middle_mm[0]
        for place, row in zip(found.layout.places, found.layout.order, strict=True)
    }
    across = across_area(found.layout, AREA)
    assert np.abs(across).max() <= 1.0
    by_name = dict(zip(found.layout.patches.ids, across, strict=True))
    for name, x in middles.items():
        assert by_name[name] == pytest.approx(2.0 * x / 200.0 - 1.0)


def test_an_area_for_two_dozen_patches_is_refused_in_its_own_terms():
    with pytest.raises(
        BadSetting, match=r"48 x 72 mm on 1 page hold 24 patches of 10 x 10 mm, and 24 .* too few.* are 30"
    ):
        design(Box(0, 0, 48, 72), "spot", 10.0)


def test_a_strip_four_inches_wide_will_do():
    found = design(Box(0.0, 0.0, 101.6, 400.0))
    assert found.layout.fit.columns >= 5
    assert all(one.box.right_mm <= 101.6 for one in found.layout.pages[0])


def test_a_roll_full_of_room_is_not_filled_beyond_sense():
    found = design(Box(0.0, 0.0, 900.0, 1500.0), "scanner", 6.0, most=3000)
    assert len(found.layout.patches) == 3000
    assert found.doubts[0] == SCANNER_DOUBT
    assert "There is room for" in found.doubts[1]
    assert found.precision is not None
    assert found.precision.rounds == 8


def test_two_inks_beside_four_under_a_limit():
    found = design(channels=(*CMYK, "O", "G"), ink_limit=2.6, pages=2)
    assert found.layout.patches.codes.sum(axis=1).max() <= 255 * 2.6
    assert found.doubts == (HULL_DOUBT,)
    assert found.precision is not None
    assert found.precision.gamut_from == "hull"


def test_an_ink_nobody_knows_is_placed_and_not_foretold():
    found = design(channels=(*CMYK, "Q"))
    assert found.precision is None
    assert found.doubts == ("The model has no ink Q, so that precision cannot be foretold.",)
    assert len(found.layout.patches) == found.layout.fit.patches


def test_nothing_is_said_of_a_hull_where_there_is_no_volume():
    assert design(channels=("K",)).doubts == ()


@pytest.mark.parametrize(
    ("how", "words"),
    [
        ({"pages": 0}, "0 pages"),
        ({"most": 20}, "20 patches are too few"),
        ({"own": np.array([[0, 0, 300]])}, "own colour 1"),
        ({"ink_limit": 3.0}, "the driver decides"),
        ({"area": Box(0, 0, 30, 30)}, "no row of patches fits"),
    ],
)
def test_what_cannot_be_is_refused(how, words):
    with pytest.raises(BadSetting, match=words):
        design(**how)
