"""Draws the pictures that tests compare with, pixel by pixel; run it when a drawing is changed on purpose.

    python tests/science/forms/write_golden.py

Look at what it wrote, enlarged, before you commit it.
"""

from __future__ import annotations

import sys
from collections.abc import Iterator
from pathlib import Path

import numpy as np
from drawn_elements import BLACK, ELEMENTS, RGB, drawn, inside, made
from PIL import Image

from laydown.science.forms.blind_label import blind_label
from laydown.science.forms.drawing import draw_bands
from laydown.science.forms.scenes.every_scene import SCENES

FOLDER = Path(__file__).resolve().parents[2] / "golden" / "forms"
PPIS = (300, 720)
SCENE_PPIS = (30, 60)  # a picture is stretched, not drawn: small ones show as much of it
SCENE_MM = (60.0, 45.0)
SEED = 11
COLOURED = {"bleed", "gradients"}
#: Left, top, right, bottom in mm from the corner of the element: where all of it would be too large a file.
PARTS = {
    **dict.fromkeys(("type", "type-reversed"), (0.0, 0.0, 40.0, 32.0)),
    "bleed": (0.0, 0.0, 34.0, 26.0),
    "gradients": (0.0, 0.0, 8.0, 220.0),
    "waves-across": (60.0, 25.0, 100.0, 45.0),
    "waves-down": (20.0, 60.0, 45.0, 100.0),
    "highlights": (0.0, 0.0, 40.0, 21.0),
    "wear-bar": (0.0, 0.0, 70.0, 50.0),
    "wear-bar-grey": (0.0, 0.0, 50.0, 50.0),
}


def golden_element(name: str, ppi: int) -> np.ndarray:
    """Light, as it would be seen: grey, or three channels where colour matters."""
    channels = RGB if name in COLOURED else BLACK
    pixels = drawn(made(name, channels=channels), channels=channels, ppi=ppi)
    if name in PARTS:
        pixels = inside(pixels, tuple(side + 2.0 for side in PARTS[name]), ppi)
    return pixels if channels == RGB else 255 - pixels[..., 0]


def golden_label(ppi: int) -> np.ndarray:
    """A blind label."""
    return 255 - np.concatenate(list(draw_bands(blind_label("HXRT"), ppi=ppi)))[..., 0]


def golden_scene(name: str, ppi: int) -> np.ndarray:
    """A small picture."""
    pixels = SCENES[name](
        np.random.default_rng(SEED), width_mm=SCENE_MM[0], height_mm=SCENE_MM[1], ppi=float(ppi)
    )
    return np.round(pixels * 255).astype(np.uint8)


def every_golden() -> Iterator[tuple[str, np.ndarray]]:
    """File names and pictures."""
    for ppi in PPIS:
        for name in ELEMENTS:
            yield f"{name}-{ppi}.png", golden_element(name, ppi)
        yield f"blind-label-{ppi}.png", golden_label(ppi)
    for ppi in SCENE_PPIS:
        for name in SCENES:
            yield f"scene-{name}-{ppi}.png", golden_scene(name, ppi)


def main() -> None:
    """Write them all."""
    FOLDER.mkdir(parents=True, exist_ok=True)
    total = 0
    for name, picture in every_golden():
        Image.fromarray(picture).save(FOLDER / name, optimize=True)
        size = (FOLDER / name).stat().st_size
        total += size
        sys.stdout.write(f"{size:8d}  {name}\n")
    sys.stdout.write(f"{total:8d}  in all\n")


if __name__ == "__main__":
    main()
