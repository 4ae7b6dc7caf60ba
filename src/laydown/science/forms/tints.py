"""Large flat fields: for grain, mottle and banding."""

from __future__ import annotations

from laydown.kernel.constants import Constant
from laydown.kernel.errors import BadSetting
from laydown.science.forms.device_colours import pure
from laydown.science.forms.labels import label, line_height_mm
from laydown.science.forms.page import Block, Box, Element

SHARES = (0.1, 0.3, 0.5, 0.7, 0.9)
SIDE_MM = Constant(60.0, "mm", "common practice, no source", "common practice, no source")
LEAST_MM = Constant(12.7, "mm", "ISO/IEC 13660: least side of the region for graininess", "from memory")


def tint(
    share: float,
    *,
    left_mm: float,
    top_mm: float,
    channels: tuple[str, ...],
    name: str = "K",
    width_mm: float = SIDE_MM.value,
    height_mm: float = SIDE_MM.value,
) -> Element:
    """One flat field, with its name above it and nothing inside it.

    Parameters
    ----------
    share : 0 (bare) to 1, how far from bare to the colour; 0.3 of K is light 0.7 in RGB, 30 % of black ink
        otherwise
    left_mm, top_mm : corner of the element; the field begins below its name
    channels : names of the device values of the page
    name : the colour: K, another of R, G, B, C, M, Y, or an ink
    width_mm, height_mm : size of the field; a strip as wide as the page shows banding best

    Returns
    -------
    Element of kind "tint"; facts: ``share``, ``colour`` (its name), ``device`` (device values), ``field_mm``

    Raises
    ------
    BadSetting
        if the field is too small to judge grain by, or the share is none.

    Checked against
    ---------------
    Every pixel of the drawn field is the device value.
    """
    if min(width_mm, height_mm) < LEAST_MM.value:
        raise BadSetting(
            f"a flat of {width_mm:g} x {height_mm:g} mm is too small to judge grain and mottle by.",
            todo=f"Give it at least {LEAST_MM.value:g} mm, better {SIDE_MM.value:g} mm, each way.",
        )
    if not 0.0 < share <= 1.0:
        raise BadSetting(f"{share:g} is no share of a colour.", todo="Give one above 0, up to 1.")
    device = pure(name, channels, strength=share)
    words = line_height_mm(5.0)
    field = Box(left_mm, top_mm + words, left_mm + width_mm, top_mm + words + height_mm)
    said = f"{share * 100:.3g} % {name}"
    told = label(said, left_mm=left_mm, top_mm=top_mm - 0.2, channels=channels)
    return Element(
        "tint",
        said,
        Box(left_mm, top_mm, field.right_mm, field.bottom_mm),
        (Block(field, device), told),
        {
            "share": share,
            "colour": name,
            "device": device,
            "field_mm": (field.left_mm, field.top_mm, field.right_mm, field.bottom_mm),
        },
    )
