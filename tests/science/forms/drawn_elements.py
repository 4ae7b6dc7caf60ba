"""One of every element of a form, and pages of them drawn: what the tests of elements and pictures share."""

from __future__ import annotations

from collections.abc import Callable, Iterable

import numpy as np

from laydown.science.forms.bleed_targets import bleed_targets
from laydown.science.forms.direction_arrows import direction_arrow
from laydown.science.forms.drawing import draw_bands
from laydown.science.forms.edge_target import edge_target
from laydown.science.forms.gradients import Gradient, gradient, gradients
from laydown.science.forms.identity import Identity, code_element, identity_elements, instruction
from laydown.science.forms.length_marks import length_marks
from laydown.science.forms.line_targets import hairlines, line_pairs
from laydown.science.forms.page import Box, Element, Page, check_page
from laydown.science.forms.ring_target import ring_target
from laydown.science.forms.tints import tint
from laydown.science.forms.tone_steps import tone_steps
from laydown.science.forms.type_sample import type_sample
from laydown.science.forms.wave_target import wave_target
from laydown.science.forms.wear_bar import bare_window, wear_bar

RGB, CMYK, BLACK = ("R", "G", "B"), ("C", "M", "Y", "K"), ("K",)
SIX_INKS = ("C", "M", "Y", "K", "O", "V")
SHEET = Identity("F7K2", "D1", "003")

#: Takes left_mm, top_mm and channels.
Maker = Callable[..., Element | tuple[Element, ...]]


def _fixed(maker: Maker, *given: object, **named: object) -> Maker:
    return lambda **place: maker(*given, **named, **place)


def _grey_ramp(**place: object) -> Element:
    channels = place["channels"]
    bare = (1.0, 1.0, 1.0) if channels == RGB else (0.0,) * len(channels)
    black = (0.0, 0.0, 0.0) if channels == RGB else tuple(float(name == "K") for name in channels)
    return gradient(Gradient("neutral", bare, black), length_mm=30.0, breadth_mm=4.0, **place)


#: By name; all of them go with any channels that hold black.
ELEMENTS: dict[str, Maker] = {
    **{f"edges-{name}": _fixed(edge_target, name) for name in ("full", "half", "low")},
    **{
        f"{name}-{run}{'-reversed' if out else ''}": _fixed(maker, run, reversed_out=out)
        for name, maker in (("hairlines", hairlines), ("line-pairs", line_pairs))
        for run in ("upright", "level", "slanted")
        for out in (False, True)
    },
    "rings": ring_target,
    "rings-reversed": _fixed(ring_target, reversed_out=True),
    "type": type_sample,
    "type-reversed": _fixed(type_sample, reversed_out=True),
    "bleed": bleed_targets,
    "waves-across": wave_target,
    "waves-down": _fixed(wave_target, along="down", width_mm=40.0, height_mm=100.0),
    "tint": _fixed(tint, 0.3),
    "gradient": _grey_ramp,
    "gradients": gradients,
    "shadows": _fixed(tone_steps, "shadows"),
    "highlights": _fixed(tone_steps, "highlights"),
    "length-marks": _fixed(length_marks, across_mm=50.0, along_mm=50.0),
    "wear-bar": wear_bar,
    "wear-bar-grey": _fixed(wear_bar, light=0.5, pieces=4),
    "bare-window": bare_window,
    "code": _fixed(code_element, SHEET.text),
    "identity": _fixed(identity_elements, SHEET),
    "instruction-device": _fixed(instruction, "device"),
    "instruction-picture": _fixed(instruction, "picture", width_mm=60.0),
    **{f"arrow-{way}": _fixed(direction_arrow, "feed", way) for way in ("up", "right", "down", "left")},
}


def made(name: str, *, left_mm: float = 2.0, top_mm: float = 2.0, channels=RGB) -> tuple[Element, ...]:
    """The element or elements of a name."""
    one = ELEMENTS[name](left_mm=left_mm, top_mm=top_mm, channels=channels)
    return one if isinstance(one, tuple) else (one,)


def page_of(elements: Iterable[Element], *, channels, margin_mm: float = 2.0) -> Page:
    """A page just large enough."""
    every = tuple(elements)
    right = max(one.box.right_mm for one in every) + margin_mm
    bottom = max(one.box.bottom_mm for one in every) + margin_mm
    page = Page("a page", right, bottom, channels, every)
    check_page(page)
    return page


def drawn(elements: Iterable[Element], *, channels, ppi: float, bits: int = 8) -> np.ndarray:
    """The pixels of a page of them, (rows, columns, channels)."""
    return np.concatenate(list(draw_bands(page_of(elements, channels=channels), ppi=ppi, bits=bits)))


def inside(pixels: np.ndarray, box: Box | tuple[float, ...], ppi: float, *, shrunk_px: int = 0) -> np.ndarray:
    """The pixels of a box."""
    sides = (box.left_mm, box.top_mm, box.right_mm, box.bottom_mm) if isinstance(box, Box) else box
    left, top, right, bottom = (int(np.floor(side * ppi / 25.4 + 0.5)) for side in sides)
    return pixels[top + shrunk_px : bottom - shrunk_px, left + shrunk_px : right - shrunk_px]
