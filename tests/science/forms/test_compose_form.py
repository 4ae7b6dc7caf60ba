"""Forms of many wishes are put together whole: nothing overlaps, nothing is lost, everything is named."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from laydown.kernel.errors import BadSetting
from laydown.science.forms.compose_form import (
    ComposedForm,
    compose_form,
    for_sheet,
    picture_sources,
    with_pixels,
)
from laydown.science.forms.device_pages import SMALL_PAGE_MM
from laydown.science.forms.drawing import draw_bands
from laydown.science.forms.form_wish import PARTS, SCENE_NAMES, FormWish, OwnPicture, Part
from laydown.science.forms.identity import find_codes, identity_of
from laydown.science.forms.locating import marks_of
from laydown.science.forms.page import check_page, colours_of
from laydown.science.forms.patch_set import CMYK, RGB
from laydown.science.forms.reader import FLATBED_SCANNER, SPOT_READER, STRIP_READER
from laydown.science.forms.scenes.every_scene import SCENES

READERS = (SPOT_READER, STRIP_READER, FLATBED_SCANNER)


def made(wish: FormWish) -> ComposedForm:
    return compose_form(wish, rng=np.random.default_rng(wish.seed))


@pytest.fixture(scope="module")
def usual() -> ComposedForm:
    return made(FormWish(code="F7K2"))


def test_the_usual_form_is_one_page_of_patches_and_one_of_pictures(usual):
    assert [(one.page.name, one.use) for one in usual.pages] == [("D1", "device"), ("P1", "picture")]
    assert usual.left_out == ()
    device, pictures = (one.page for one in usual.pages)
    assert len(device.of_kind("patch")) == 400
    assert {one.name for one in pictures.of_kind("picture")} == set(SCENE_NAMES)
    kinds = {one.kind for one in device.elements}
    assert kinds >= {
        "mark",
        "code",
        "words",
        "arrow",
        "edge",
        "tint",
        "gradient",
        "tone steps",
        "length mark",
    }
    # What was asked for by name: four directions at three contrasts, and flats of 60 mm.
    assert [one.name for one in device.of_kind("edge")] == ["full", "half", "low"]
    assert min(one.box.width_mm for one in device.of_kind("tint")) >= 60.0


def test_the_same_wish_makes_the_same_form(usual):
    again = made(FormWish(code="F7K2"))
    assert [one.box for one in again.pages[0].page.elements] == [
        one.box for one in usual.pages[0].page.elements
    ]
    assert np.array_equal(again.layout.order, usual.layout.order)


def test_a_step_shorter_and_a_page_would_not_hold_everything(usual):
    length = usual.pages[0].page.height_mm
    shorter = made(FormWish(code="F7K2", length_mm=length - 10.0, scenes=()))
    assert len(shorter.pages) > 1 or shorter.left_out


def test_no_mark_is_on_two_pages_and_another_form_has_others(usual):
    first, second = (set(marks_of(one.page)) for one in usual.pages)
    assert not first & second
    other = made(FormWish(code="Q9"))
    same = [
        number
        for number, box in marks_of(other.pages[0].page).items()
        if marks_of(usual.pages[0].page).get(number) == box
    ]
    assert len(same) < 4


@given(
    width=st.floats(150.0, 1625.0),
    length=st.none() | st.floats(150.0, 1500.0),
    patches=st.integers(60, 1500),
    channels=st.sampled_from([RGB, CMYK, ("C", "M", "Y", "K", "O", "V")]),
    reader=st.sampled_from(READERS),
    parts=st.sets(st.sampled_from(PARTS)),
)
@settings(deadline=None, max_examples=15, derandomize=True)
def test_whatever_is_wished_for_nothing_overlaps_and_nothing_is_lost(
    width: float, length: float | None, patches: int, channels: tuple[str, ...], reader, parts: set[Part]
):
    wish = FormWish(
        code="F7",
        channels=channels,
        patches=patches,
        reader=reader,
        width_mm=width,
        length_mm=length,
        parts=tuple(one for one in PARTS if one in parts),
        scenes=("sky",),
    )
    form = made(wish)
    for one in form.pages:
        check_page(one.page)
        assert one.page.width_mm == width
        assert len(one.page.of_kind("mark")) >= 4
        assert len(one.page.of_kind("code")) == 1
        names = [(item.kind, item.name) for item in one.page.elements if item.kind != "mark"]
        assert len(names) == len(set(names))
    printed = [item for one in form.pages for item in one.page.of_kind("patch")]
    assert len(printed) == patches
    assert sorted(item.facts["device"] for item in printed) == sorted(
        map(tuple, form.patches.device.tolist())
    )


def test_small_sheets_keep_everything_on_more_pages():
    form = made(FormWish(code="F7", width_mm=203.0, length_mm=279.0))
    assert min(203.0, 279.0) < SMALL_PAGE_MM.value
    assert form.left_out == ()
    assert len([one for one in form.pages if one.use == "device"]) > 1
    crosses = [item for one in form.pages for item in one.page.of_kind("length mark")]
    assert len(crosses) == 3


def test_crosses_find_room_below_patches_that_fill_the_width():
    form = made(FormWish(code="F7", width_mm=259.0, scenes=()))
    assert form.left_out == ()
    assert {one.name for one in form.pages[0].page.of_kind("length mark")} == {"corner", "across", "along"}


def test_what_is_too_large_is_said():
    wide = OwnPicture(name="panorama", sha256="a" * 64, width_mm=900.0, height_mm=100.0)
    form = made(FormWish(code="F7", pictures=(wide,), scenes=()))
    assert form.left_out == ("panorama: larger (900 x 100 mm) than the page.",)


def test_the_sheet_is_in_its_code_and_its_words(usual):
    page = for_sheet(usual.pages[0].page, "KX-07")
    pixels = np.concatenate(list(draw_bands(page, ppi=150)))
    codes = find_codes(np.ascontiguousarray(pixels[..., 1]))
    assert [identity_of(one.text).sheet for one in codes] == ["KX-07"]
    others = [one for one in page.elements if one.kind not in ("code", "words")]
    assert others == [one for one in usual.pages[0].page.elements if one.kind not in ("code", "words")]
    with pytest.raises(BadSetting, match="does not name a form, a page and a sheet"):
        for_sheet(usual.pages[0].page, "a sheet")


def test_pictures_are_put_in_and_others_stay_grey(usual):
    page = usual.pages[1].page
    assert picture_sources(page) == SCENE_NAMES or set(picture_sources(page)) == set(SCENES)
    red = np.zeros((10, 10, 3), dtype=np.uint8)
    red[..., 0] = 255
    filled = with_pixels(page, {"sky": red})
    shown = np.concatenate(list(draw_bands(filled, ppi=50)))
    boxes = {one.name: one.box for one in page.of_kind("picture")}

    def middle(name: str) -> list[int]:
        x, y = boxes[name].middle_mm
        return [int(value) for value in shown[int(y / 25.4 * 50), int(x / 25.4 * 50)]]

    assert middle("sky") == [255, 0, 0]
    assert middle("skin") == [128, 128, 128]


@pytest.mark.parametrize(
    ("wish", "words"),
    [
        (FormWish(code="f7"), "cannot name a form"),
        (FormWish(code="F7", ppi=333), "no printer's own resolution"),
        (FormWish(code="F7", width_mm=2000.0), "cannot be printed"),
        (FormWish(code="F7", length_mm=5000.0), "is not made"),
        (FormWish(code="F7", patches=20), "too few"),
        (FormWish(code="F7", own_colours=((1, 2),)), "is no colour in R/G/B"),
        (FormWish(code="F7", own_colours=((1, 2, 300),)), "is no colour in R/G/B"),
        (FormWish(code="F7", scenes=("sea",)), 'no picture "sea"'),
        (FormWish(code="F7", parts=("stars",)), 'no part "stars"'),
        (FormWish(code="F7", width_mm=40.0), "no room|too few|no row"),
    ],
)
def test_what_cannot_be_is_refused_in_words(wish: FormWish, words: str):
    with pytest.raises(BadSetting, match=words) as refused:
        made(wish)
    assert refused.value.todo


def test_nothing_on_a_form_takes_more_ink_than_the_medium_does():
    wish = FormWish(code="F7", channels=CMYK, ink_limit=2.4, patches=300, scenes=())
    form = made(wish)
    for one in form.pages:
        for element in one.page.elements:
            for paint in element.paints:
                assert max(map(sum, colours_of(paint))) <= 2.4 + 1e-6, element.name
    assert form.left_out == ("gradient equal C, M, Y: it takes 300 % ink, above 240 %.",)


@pytest.mark.parametrize(
    "name", ["jxj;,", "Größe 14 × 20", "a name that is far too long for its picture " * 3, "写真"]
)
def test_any_name_of_a_picture_has_a_caption_that_stays_below_it(name: str):
    own = OwnPicture(name=name, sha256="b" * 64, width_mm=20.0, height_mm=15.0)
    form = made(FormWish(code="F7", pictures=(own,), scenes=(), parts=(), patches=60))
    (page,) = [one.page for one in form.pages if one.use == "picture"]
    check_page(page)
    (caption,) = [one for one in page.elements if one.name.startswith("caption")]
    assert caption.facts["text"]
