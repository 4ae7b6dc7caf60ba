"""Our own pictures: what can be said of them without looking; that they please is for the eye."""

import tracemalloc

import numpy as np
import pytest
from drawn_elements import RGB, drawn, inside

from laydown.kernel.errors import BadSetting
from laydown.science.forms.page import Box, Element, Picture
from laydown.science.forms.scenes.every_scene import SCENES
from laydown.science.forms.scenes.light import (
    averaged,
    blend,
    encoded,
    linear,
    painted,
    shouldered,
    step,
)
from laydown.science.forms.scenes.night import HORIZON, SHAPES, night_scene
from laydown.science.forms.scenes.noise import hills
from laydown.science.forms.scenes.skin import TONES

SMALL = {"width_mm": 60.0, "height_mm": 45.0, "ppi": 40.0}


def seeded(seed=5):
    return np.random.default_rng(seed)


def scene(name, **size):
    return SCENES[name](seeded(), **{**SMALL, **size})


def lightness(device):
    """Luminance on the curve and with the weights of sRGB (IEC 61966-2-1, from memory)."""
    return linear(device) @ np.array([0.2126, 0.7152, 0.0722])


@pytest.mark.parametrize("name", SCENES)
def test_it_has_the_size_and_the_values_it_should_have(name):
    picture = scene(name)
    assert picture.shape == (round(45 * 40 / 25.4), round(60 * 40 / 25.4), 3)
    assert np.isfinite(picture).all()
    assert picture.min() >= 0.0
    assert picture.max() <= 1.0
    assert picture.std() > 0.04


@pytest.mark.parametrize("name", SCENES)
def test_the_same_chance_makes_the_same_picture_and_another_another(name):
    picture = scene(name)
    assert (scene(name) == picture).all()
    assert (SCENES[name](seeded(6), **SMALL) != picture).any()


@pytest.mark.parametrize("name", SCENES)
def test_it_is_the_same_picture_at_every_resolution(name):
    fine = averaged(linear(scene(name, ppi=96.0, width_mm=50.8, height_mm=38.1)), finer=2)
    coarse = linear(scene(name, ppi=48.0, width_mm=50.8, height_mm=38.1))
    # Details finer than a pixel of the coarse one differ; what is seen from afar does not.
    rough = averaged(fine, finer=8), averaged(coarse, finer=8)
    assert rough[1] == pytest.approx(rough[0], abs=0.03)


@pytest.mark.parametrize("name", SCENES)
def test_memory_does_not_grow_with_what_is_averaged(name):
    tracemalloc.start()
    try:
        picture = scene(name, ppi=100.0)
        most = tracemalloc.get_traced_memory()[1]
    finally:
        tracemalloc.stop()
    # Drawing a form is to stay below 500 MB; a picture takes half of it at most besides itself.
    assert most - picture.nbytes < 250e6


def test_skin_goes_from_fair_to_dark_and_is_warm():
    picture = scene("skin", ppi=80.0)
    levels = [float(lightness(np.array(tone))) for tone in TONES]
    assert levels == sorted(levels, reverse=True)
    assert levels[0] / levels[-1] > 8.0
    # Red leads, then green, then blue, in every tone; the brightest spots are highlights, nearly white.
    assert all(tone[0] > tone[1] > tone[2] for tone in TONES)
    red, green, blue = (picture[..., n] for n in range(3))
    warm = (red > 1.12 * green) & (green > 1.05 * blue)
    assert 0.10 < warm.mean() < 0.60
    assert np.quantile(lightness(picture[warm]), [0.02, 0.98]) == pytest.approx([0.03, 0.65], abs=0.15)


def test_foliage_is_green_both_light_and_deep():
    picture = scene("foliage", ppi=80.0)
    assert (picture[..., 1] >= picture[..., [0, 2]].max(axis=2)).mean() > 0.85
    assert np.quantile(lightness(picture), 0.05) < 0.01 < 0.15 < np.quantile(lightness(picture), 0.97)


def test_sky_grows_lighter_and_warmer_to_the_horizon():
    picture = scene("sky", ppi=80.0)
    rows = picture[: int(0.6 * len(picture))].mean(axis=1)
    parts = [part.mean(axis=0) for part in np.array_split(rows, 5)]
    levels = [float(lightness(part)) for part in parts]
    warmth = [float(part[0] - part[2]) for part in parts]
    assert levels == sorted(levels)
    assert warmth == sorted(warmth)


def test_threads_of_the_finest_cloth_stand_in_the_spectrum():
    # The blue and white cloth has 4.2 threads a mm and repeats after four: 1.05 repeats a mm along the warp
    # and along the weft, turned by 21 degrees, which folds shift a little.
    ppi = 127.0  # 5 pixels a mm
    picture = lightness(scene("fabric", ppi=ppi))
    part = picture[145:209, 110:174]  # in the middle of that cloth
    seen = np.abs(
        np.fft.fftshift(np.fft.fft2((part - part.mean()) * np.hanning(64)[:, None] * np.hanning(64)))
    )
    rows, columns = np.indices(seen.shape) - 32
    fineness = np.hypot(rows, columns) * 5.0 / 64
    seen[fineness < 0.5] = 0.0  # folds
    assert fineness.flat[seen.argmax()] == pytest.approx(1.05, rel=0.25)


def test_metal_has_highlights_next_to_deep_tones():
    levels = lightness(scene("metal", ppi=80.0))
    assert np.quantile(levels, 0.99) > 0.6
    assert np.quantile(levels, 0.20) < 0.05
    down = levels[int(0.30 * len(levels)) : int(0.65 * len(levels)), int(0.2 * levels.shape[1])]
    assert down.max() / down.min() > 15.0  # down one brushed cylinder


def test_dark_shapes_lie_within_15_percent_and_part_from_each_other():
    assert all(0.0 <= tone <= 0.15 for tone in SHAPES)
    assert np.diff(SHAPES).max() <= -0.02
    picture = night_scene(seeded(), width_mm=100.0, height_mm=75.0, ppi=100.0)
    above = picture[: int(HORIZON * len(picture))]
    for tone in SHAPES[:4]:  # hills and houses
        near = np.abs(above[..., 1] - tone * 0.99) < 0.008
        assert near.mean() > 0.01
    bottom = picture[int(0.985 * len(picture)) :]
    assert np.median(bottom) == pytest.approx(SHAPES[-1], abs=0.004)
    assert 0.0005 < (lightness(picture) > 0.25).mean() < 0.02  # few and small lamps
    assert (picture.max(axis=2) < 0.15).mean() > 0.5


@pytest.mark.parametrize("name", SCENES)
def test_a_picture_on_a_page_is_the_picture(name):
    alone = SCENES[name](seeded(), width_mm=50.8, height_mm=38.1, ppi=50.0)
    box = Box(25.4, 25.4, 76.2, 63.5)
    pixels = drawn([Element("picture", name, box, (Picture(box, alone),))], channels=RGB, ppi=50.0)
    assert (inside(pixels, box, 50.0) == np.round(alone * 255)).all()


def test_pictures_that_cannot_be_made_are_refused():
    with pytest.raises(BadSetting, match="too large to be made in one piece"):
        SCENES["sky"](seeded(), width_mm=1500.0, height_mm=1000.0, ppi=300.0)
    with pytest.raises(BadSetting, match="a width, a height and a resolution"):
        SCENES["sky"](seeded(), width_mm=0.0, height_mm=10.0, ppi=300.0)
    with pytest.raises(BadSetting, match="without pixels"):
        SCENES["sky"](seeded(), width_mm=0.1, height_mm=10.0, ppi=10.0)


def test_bands_do_not_show():
    # A picture of its own places, with far more places than are made at once.
    picture = painted(
        lambda x, y: np.stack([x / 100.0, y / 100.0, 0.0 * x], axis=-1) * 0.7,
        width_mm=100.0,
        height_mm=100.0,
        ppi=254.0,
        finer=1,
    )
    middle = encoded((np.arange(1000) + 0.5) / 1000.0 * 0.7)  # below the shoulder
    assert np.abs(picture[..., 0] - middle).max() < 1e-9
    assert np.abs(picture[..., 1] - middle[:, None]).max() < 1e-9


def test_light_and_device_values():
    # IEC 61966-2-1 (from memory): 1.055 * 0.18 ** (1 / 2.4) - 0.055 = 0.4614, and 12.92 * 0.002.
    assert encoded(np.array([0.0, 0.002, 0.18, 1.0, 3.0, -1.0])) == pytest.approx(
        [0.0, 0.02584, 0.4614, 1.0, 1.0, 0.0], abs=5e-5
    )
    values = np.linspace(0.0, 1.0, 101)
    assert encoded(linear(values)) == pytest.approx(values, abs=1e-7)
    light = np.linspace(0.0, 5.0, 501)
    bent = shouldered(light)
    assert (np.diff(bent) > 0.0).all()
    assert bent[-1] < 1.0
    assert (bent[light <= 0.75] == light[light <= 0.75]).all()
    assert step(np.array([-1.0, 0.0, 0.5, 1.0, 2.0]), 0.0, 1.0) == pytest.approx([0, 0, 0.5, 1, 1])
    assert step(np.array([0.0, 1.0]), 1.0, 0.0) == pytest.approx([1, 0])
    mixed = blend(np.zeros(3), np.ones(3), np.array([0.0, 0.5, 1.0]))
    assert mixed == pytest.approx(np.array([[0.0] * 3, [0.5] * 3, [1.0] * 3]))
    blocks = averaged(np.arange(16.0).reshape(4, 4, 1), finer=2)[..., 0]
    assert blocks == pytest.approx(np.array([[2.5, 4.5], [10.5, 12.5]]))  # means of 0 1 4 5 and so on


def test_hills_are_smooth_and_0_at_corners(rng):
    land = hills(rng)
    corners = np.arange(-3.0, 300.0)
    assert land.at(corners, corners[::-1]) == pytest.approx(np.zeros(len(corners)), abs=1e-12)
    x, y = rng.uniform(-50.0, 300.0, (2, 20_000))
    high = land.at(x, y)
    assert np.abs(high).max() < 1.0
    assert high.std() > 0.1
    assert abs(high.mean()) < 0.02
    # No jumps: a step of a thousandth of a cell changes it by no more than its steepest slope (about 2).
    assert np.abs(land.at(x + 1e-3, y) - high).max() < 3e-3
    assert land.at(x + 256.0, y) == pytest.approx(high, abs=1e-9)
    rough = land.rough(x, y, octaves=4)
    assert rough.std() > high.std()
    assert land.rough(x, y, octaves=1) == pytest.approx(high)
