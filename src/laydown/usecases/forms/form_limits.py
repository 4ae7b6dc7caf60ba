"""What a wish may ask for at most, so that no page of ours waits for ever for a slip of the keyboard."""

from __future__ import annotations

import math
import re

from laydown.kernel.constants import Constant
from laydown.kernel.errors import BadSetting
from laydown.science.forms.form_wish import LONGEST_MM, WIDEST_MM, FormWish
from laydown.science.forms.reader import Reader

MOST_PATCHES = Constant(3000.0, "patches", "chosen here: put together within ten seconds", "computed")
MOST_PATCH_AREA = Constant(6.0, "m²", "chosen here: a dozen pages of patches", "computed")
LARGEST_PATCH_MM = Constant(100.0, "mm", "chosen here: larger is a slip", "computed")
MOST_INKS = Constant(10.0, "inks", "chosen here: more than printers have", "common practice, no source")
MOST_COLOURS = Constant(300.0, "colours of one's own", "chosen here: more are a chart", "computed")
SMALLEST_PICTURE_MM = Constant(10.0, "mm", "chosen here: less has no room for its name", "computed")
MOST_PICTURES = Constant(24.0, "pictures of one's own", "chosen here", "computed")
LARGEST_EDGE_MM = Constant(50.0, "mm", "chosen here: wider bare edges are a slip", "computed")
MOST_SEED = 2**31 - 1
_INK = re.compile(r"[A-Za-z][A-Za-z0-9]{0,7}\Z")


def check_limits(wish: FormWish) -> None:
    """Refuse a wish that asks for more than can be meant; ``check_wish`` says whether it makes sense.

    Raises
    ------
    BadSetting
        Names what is too much.
    """
    _refuse_number("patches", wish.patches, 1, MOST_PATCHES.value)
    _refuse_number("inks", len(wish.channels), 1, MOST_INKS.value)
    _refuse_number("colours of your own", len(wish.own_colours), 0, MOST_COLOURS.value)
    _refuse_number("pictures of your own", len(wish.pictures), 0, MOST_PICTURES.value)
    _refuse_number("as seed", wish.seed, 0, MOST_SEED)
    _refuse_number("mm of bare edge", wish.edge_mm, 0, LARGEST_EDGE_MM.value)
    for name in wish.channels:
        if not _INK.match(name):
            raise BadSetting(
                f'"{name}" cannot name an ink.', todo="Use a letter and up to 7 more letters or digits."
            )
    for what, names in (("ink", wish.channels), ("part", wish.parts), ("picture", wish.scenes)):
        twice = next((name for name in names if names.count(name) > 1), None)
        if twice is not None:
            raise BadSetting(f'the {what} "{twice}" stands there twice.', todo="Name it once.")
    for picture in wish.pictures:
        for size, most in ((picture.width_mm, WIDEST_MM.value), (picture.height_mm, LONGEST_MM.value)):
            if not SMALLEST_PICTURE_MM.value <= size <= most:
                raise BadSetting(
                    f"it would be {size:g} mm wide or high.",
                    todo=f"State its ppi, so that it is {SMALLEST_PICTURE_MM.value:g} to {most:g} mm.",
                    file=picture.name,
                )
    _refuse_reader(wish.reader, wish.patches)


def _refuse_reader(reader: Reader, patches: int) -> None:
    _refuse_number("points of row labels", reader.label_pt, 3, 24)
    _refuse_number("as least contrast", reader.least_contrast, 0, 1)
    sizes = {
        "mm patch width": reader.patch_width_mm,
        "mm patch height": reader.patch_height_mm,
        "mm gap": reader.gap_mm,
        "mm aperture": reader.aperture_mm,
        "mm before a row": reader.lead_in_mm,
        "mm after a row": reader.lead_out_mm,
        "mm from row to row": reader.row_pitch_mm,
    }
    for what, size in sizes.items():
        _refuse_number(what, size, 0, LARGEST_PATCH_MM.value)
    if reader.longest_row_mm is not None:
        _refuse_number("mm row length", reader.longest_row_mm, 1, WIDEST_MM.value)
    area = patches * (reader.patch_width_mm + reader.gap_mm) * reader.pitch_mm / 1e6
    if area > MOST_PATCH_AREA.value:
        raise BadSetting(
            f"{patches} patches of {reader.patch_width_mm:g} x {reader.patch_height_mm:g} mm "
            f"cover {area:.1f} m².",
            todo=f"Ask for fewer or smaller ones, up to {MOST_PATCH_AREA.value:g} m².",
        )


def _refuse_number(what: str, value: float, low: float, high: float) -> None:
    if not (math.isfinite(value) and low <= value <= high):
        raise BadSetting(f"{value:g} {what} cannot be.", todo=f"Give {low:g} to {high:g}.")
