"""All our pictures by name, and how one becomes an element of a page."""

from __future__ import annotations

from typing import Protocol

import numpy as np

from laydown.kernel.arrays import Floats
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
