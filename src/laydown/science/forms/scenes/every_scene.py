"""All our pictures by name, and how one becomes an element of a page."""

from __future__ import annotations

from typing import Protocol

import numpy as np

from laydown.kernel.arrays import Floats
from laydown.kernel.errors import BadSetting
from laydown.science.forms.page import Box, Element, Picture
from laydown.science.forms.scenes.fabric import fabric_scene
from laydown.science.forms.scenes.foliage import foliage_scene
from laydown.science.forms.scenes.metal import metal_scene
from laydown.science.forms.scenes.night import night_scene
from laydown.science.forms.scenes.skin import skin_scene
from laydown.science.forms.scenes.sky import sky_scene


class Scene(Protocol):
    """Makes a picture of a size; the same rng makes the same picture."""

    def __call__(self, rng: np.random.Generator, *, width_mm: float, height_mm: float, ppi: float) -> Floats:
        """Pixels (rows, columns, 3), device values 0 to 1."""
        ...


SCENES: dict[str, Scene] = {
    "skin": skin_scene,
    "foliage": foliage_scene,
    "sky": sky_scene,
    "fabric": fabric_scene,
    "metal": metal_scene,
    "night": night_scene,
}
#: Usual size: 4 to 3, as all of them are composed, and large enough to be judged at arm's length.
SIZE_MM = (100.0, 75.0)
PPI = 300.0


def scene_element(
    name: str,
    rng: np.random.Generator,
    *,
    left_mm: float,
    top_mm: float,
    width_mm: float = SIZE_MM[0],
    height_mm: float = SIZE_MM[1],
    ppi: float = PPI,
) -> Element:
    """One of our pictures as an element of an RGB page.

    For pages in ink its pixels go through a profile first; that is not done here.

    Parameters
    ----------
    name : skin, foliage, sky, fabric, metal or night
    rng : where chance comes from; the same for every candidate, so that all print the same picture
    left_mm, top_mm, width_mm, height_mm : where it lies
    ppi : resolution it is made at; the printer's own is not needed, since pixels are stretched when drawn

    Returns
    -------
    Element of kind "picture"; facts: ``scene``, ``ppi``

    Raises
    ------
    BadSetting
        if there is no such picture, or it is too large.

    Checked against
    ---------------
    Drawn pixels of a page at the picture's own resolution are the picture's.
    """
    if name not in SCENES:
        raise BadSetting(f'there is no picture "{name}".', todo=f"Use {', '.join(SCENES)}.")
    pixels = SCENES[name](rng, width_mm=width_mm, height_mm=height_mm, ppi=ppi)
    box = Box(left_mm, top_mm, left_mm + width_mm, top_mm + height_mm)
    return Element("picture", name, box, (Picture(box, pixels),), {"scene": name, "ppi": ppi})
