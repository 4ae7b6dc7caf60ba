"""A page of a form as a small picture for the screen."""

from __future__ import annotations

from io import BytesIO

import numpy as np
from numpy.typing import NDArray

from laydown.records.look import Look
from laydown.science.forms.compose_form import picture_sources, with_pixels
from laydown.science.forms.drawing import draw_bands
from laydown.science.forms.form_wish import FormWish
from laydown.science.forms.page import MM_PER_INCH, Page
from laydown.science.forms.patch_set import RGB
from laydown.science.forms.scenes.every_scene import SCENES
from laydown.usecases.forms.composed import composed, page_of
from laydown.usecases.forms.picture_pixels import DRAFT_PPI, pixels_of

_FILTERS = {"C": (0,), "M": (1,), "Y": (2,)}  # which third of light an ink takes; any other takes all three


def preview_page(wish: FormWish, name: str, *, width_px: int, look: Look | None = None) -> bytes:
    """A page as PNG, so many pixels wide; without ``look`` the studio's own pictures stay grey.

    Raises
    ------
    UnknownRecord
        The form has no such page.
    BadSetting
        No form can be made of the wish.
    """
    one = page_of(composed(wish), name)
    page = one.page
    if one.use == "picture":
        sources = [source for source in picture_sources(page) if look is not None or source in SCENES]
        read_file = look.read_file if look is not None else _unreadable
        page = with_pixels(page, pixels_of(sources, read_file=read_file, scene_ppi=DRAFT_PPI))
    return _png(page, ppi=width_px / page.width_mm * MM_PER_INCH)


def _unreadable(sha256: str) -> bytes:
    raise AssertionError(f"{sha256} is asked for without records")


def _png(page: Page, *, ppi: float) -> bytes:
    from PIL import Image

    bands = (
        _on_screen(np.asarray(band, dtype=np.uint8), page.channels) for band in draw_bands(page, ppi=ppi)
    )
    made = BytesIO()
    Image.fromarray(np.concatenate(list(bands))).save(made, "PNG")
    return made.getvalue()


def _on_screen(pixels: NDArray[np.uint8], channels: tuple[str, ...]) -> NDArray[np.uint8]:
    """Roughly what inks look like; for finding one's way about a page, never for judging a colour."""
    if channels == RGB:
        return pixels
    light = np.full((*pixels.shape[:2], 3), 255.0, dtype=np.float32)
    for at, name in enumerate(channels):
        free = 1.0 - pixels[..., at].astype(np.float32) / 255.0
        for third in _FILTERS.get(name, (0, 1, 2)):
            light[..., third] *= free
    return np.asarray(np.round(light), dtype=np.uint8)
