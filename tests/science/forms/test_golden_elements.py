"""Elements and pictures as they were when somebody last looked at them; write_golden.py writes them anew."""

import numpy as np
import pytest
from drawn_elements import ELEMENTS
from PIL import Image
from write_golden import FOLDER, PPIS, SCENE_PPIS, golden_element, golden_label, golden_scene

from laydown.science.forms.scenes.every_scene import SCENES


def kept(name):
    with Image.open(FOLDER / name) as picture:
        return np.array(picture)


def assert_drawn_alike(now, then):
    # Sines, exponentials and products of matrices differ in the last bit from processor to processor: a share
    # on the brink between two codes may fall to the other side. Such shares are few, and no more is let pass:
    # a line moved by a hundredth of a pixel changes every pixel along it.
    assert now.shape == then.shape
    off = np.abs(now.astype(int) - then.astype(int))
    assert off.max() <= 1
    assert (off > 0).mean() <= 1e-4


@pytest.mark.parametrize("ppi", PPIS)
@pytest.mark.parametrize("name", ELEMENTS)
def test_an_element_is_drawn_as_it_was(name, ppi):
    assert_drawn_alike(golden_element(name, ppi), kept(f"{name}-{ppi}.png"))


@pytest.mark.parametrize("ppi", PPIS)
def test_a_blind_label_is_drawn_as_it_was(ppi):
    assert_drawn_alike(golden_label(ppi), kept(f"blind-label-{ppi}.png"))


@pytest.mark.parametrize("ppi", SCENE_PPIS)
@pytest.mark.parametrize("name", SCENES)
def test_a_picture_is_made_as_it_was(name, ppi):
    now, then = golden_scene(name, ppi).astype(int), kept(f"scene-{name}-{ppi}.png").astype(int)
    # Sines and powers differ in the last bit from processor to processor: a code on the brink may fall to the
    # other side, and where two paths part at a border (thread over or under), one pixel in a thousand.
    assert (np.abs(now - then).max(axis=2) > 1).mean() <= 0.001


def test_the_folder_holds_nothing_else_and_stays_small():
    names = {f"{name}-{ppi}.png" for name in [*ELEMENTS, "blind-label"] for ppi in PPIS}
    names |= {f"scene-{name}-{ppi}.png" for name in SCENES for ppi in SCENE_PPIS}
    assert {path.name for path in FOLDER.iterdir()} == names
    assert sum(path.stat().st_size for path in FOLDER.iterdir()) < 1_500_000
