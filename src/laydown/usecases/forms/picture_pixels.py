"""Pixels of the pictures on a form: made by rule, or read from the studio's own files."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from laydown.science.forms.form_wish import SCENE_NAMES
from laydown.science.forms.scenes.every_scene import PPI, SCENES, SIZE_MM
from laydown.usecases.forms.own_picture import picture_pixels

_SCENE_SEED = 20_000  # the same pictures on every form, so that trials years apart show the same ones
DRAFT_PPI = 40.0
_DATE = slice(24, 36)  # of an ICC profile's head: when it was made, which makes no two alike
_CHECKSUM = slice(84, 100)  # over that date


def pixels_of(
    sources: Sequence[str], *, read_file: Callable[[str], bytes], scene_ppi: float = PPI
) -> Mapping[str, NDArray[np.uint8]]:
    """The pixels of pictures by source: the name of a scene, or the sha256 of a kept file; sRGB, 8 bits.

    Raises
    ------
    UnreadableFile
        A kept picture cannot be decoded any more.
    """
    return {
        source: _scene(source, scene_ppi)
        if source in SCENES
        else picture_pixels(read_file(source), name=f"picture {source[:8]}")
        for source in sources
    }


@lru_cache(maxsize=1)
def srgb_profile() -> bytes:
    """The profile that picture pages carry: sRGB (IEC 61966-2-1), the same bytes each time."""
    from PIL import ImageCms

    made = bytearray(ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes())
    made[_DATE], made[_CHECKSUM] = bytes(12), bytes(16)
    return bytes(made)


@lru_cache(maxsize=16)
def _scene(name: str, ppi: float) -> NDArray[np.uint8]:
    place = [str(one) for one in SCENE_NAMES].index(name)
    rng = np.random.default_rng([_SCENE_SEED, place])
    pixels = SCENES[name](rng, width_mm=SIZE_MM[0], height_mm=SIZE_MM[1], ppi=ppi)
    return np.asarray(np.round(pixels * 255.0), dtype=np.uint8)
