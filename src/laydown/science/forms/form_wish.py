"""What a form is to be: everything that decides where each thing is on it and which paint it has."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal, get_args

import numpy as np

from laydown.kernel.arrays import Ints
from laydown.kernel.constants import Constant
from laydown.kernel.errors import BadSetting
from laydown.science.forms.choose_patches import Question
from laydown.science.forms.page import MM_PER_INCH
from laydown.science.forms.patch_set import FULL_CODE, RGB
from laydown.science.forms.reader import STRIP_READER, Reader, check_reader

Part = Literal[
    "edges",
    "lines",
    "rings",
    "type",
    "bleed",
    "waves",
    "tints",
    "gradients",
    "tone steps",
    "length marks",
    "wear bar",
    "bare window",
]
PARTS: tuple[Part, ...] = get_args(Part)
#: Pictures that are made by rule; ``scenes.every_scene`` has what makes each of them.
SceneName = Literal["skin", "foliage", "sky", "fabric", "metal", "night"]
SCENE_NAMES: tuple[SceneName, ...] = get_args(SceneName)
PART_WORDS: dict[Part, str] = {
    "edges": "slanted edges, four directions at three contrasts: sharpness",
    "lines": "hairlines and line pairs, 0.05 to 1 mm: what is still printed",
    "rings": "rings: carriage and feed against each other",
    "type": "type, 3 to 12 pt, dark on bare and bare on dark",
    "bleed": "ink beside and on ink: what runs",
    "waves": "waves, finer and fainter: detail at low contrast",
    "tints": "flat tints of 60 mm: grain, mottle, banding",
    "gradients": "gradients: neutral, primaries, saturated to neutral",
    "tone steps": "the first shadow and the last highlight steps",
    "length marks": "crosses at round distances, up to 500 mm: printed length",
    "wear bar": "a solid bar to cut up: rub, tape and fold",
    "bare window": "bare medium, framed",
}
RESOLUTIONS = (300, 360, 600, 720)
WIDEST_MM = Constant(
    64.0 * MM_PER_INCH, "mm", "64 in, the widest printers of the trade", "common practice, no source"
)
LONGEST_MM = Constant(
    1500.0, "mm", "our own judgement: a longer page is hard to handle and to scan", "computed"
)
_CODE = re.compile(r"[A-Z0-9]{2,8}\Z")


@dataclass(frozen=True, slots=True, kw_only=True)
class OwnPicture:
    """A picture of the studio's own, placed at actual size; ``sha256`` names the file that is kept."""

    name: str
    sha256: str
    width_mm: float
    height_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class FormWish:
    """Everything that decides what a form looks like; the same wish makes the same form.

    ``code`` names the form on the print itself. ``length_mm`` None lets pages be as long as they need to be.
    ``own_colours`` are codes 0-255 in ``channels``; ``ink_limit`` is the most ink a patch may have, all inks
    together, 1 for each full one. ``ppi`` is the printer's own resolution, at which patches
    have their borders on whole pixels. ``scenes`` are pictures that are made by rule, ``pictures`` the
    studio's own; both go on pages of their own, which are printed through the medium's profile.
    """

    code: str
    channels: tuple[str, ...] = RGB
    question: Question = "everything"
    patches: int = 400
    own_colours: tuple[tuple[int, ...], ...] = ()
    ink_limit: float | None = None
    reader: Reader = STRIP_READER
    width_mm: float = 432.0
    length_mm: float | None = None
    edge_mm: float = 5.0
    ppi: int = 360
    parts: tuple[Part, ...] = PARTS
    scenes: tuple[SceneName, ...] = SCENE_NAMES
    pictures: tuple[OwnPicture, ...] = ()
    seed: int = 1


def check_wish(wish: FormWish) -> None:
    """Refuse a wish that no form can be made of, before anything is drawn.

    Parameters
    ----------
    wish : FormWish

    Raises
    ------
    BadSetting
        names what is wrong and what to do.

    Returns
    -------
    None: a form may be tried

    Checked against
    ---------------
    Wishes with one planted fault each.
    """
    if not _CODE.match(wish.code):
        raise BadSetting(f'"{wish.code}" cannot name a form.', todo="Use 2 to 8 capital letters and digits.")
    if wish.ppi not in RESOLUTIONS:
        told = ", ".join(str(one) for one in RESOLUTIONS)
        raise BadSetting(
            f"{wish.ppi} ppi is no printer's own resolution here.", todo=f"Choose one of {told}."
        )
    if not 0.0 < wish.width_mm <= WIDEST_MM.value:
        raise BadSetting(
            f"a page {wish.width_mm:g} mm wide cannot be printed.",
            todo=f"Give a width of up to {WIDEST_MM.value:g} mm.",
        )
    if wish.length_mm is not None and not 0.0 < wish.length_mm <= LONGEST_MM.value:
        raise BadSetting(
            f"a page {wish.length_mm:g} mm long is not made.", todo=f"Give up to {LONGEST_MM.value:g} mm."
        )
    _refuse_unknown("part", wish.parts, PARTS)
    _refuse_unknown("picture", wish.scenes, SCENE_NAMES)
    check_reader(wish.reader)
    for code in wish.own_colours:
        if len(code) != len(wish.channels) or not all(0 <= value <= FULL_CODE for value in code):
            raise BadSetting(
                f"{'/'.join(map(str, code))} is no colour in {'/'.join(wish.channels)}.",
                todo=f"Give {len(wish.channels)} whole numbers from 0 to {FULL_CODE} for each colour.",
            )


def own_codes(wish: FormWish) -> Ints | None:
    """The studio's own colours as ``choose_patches`` takes them.

    Parameters
    ----------
    wish : FormWish

    Returns
    -------
    (m, k) codes, or None where there are none

    Checked against
    ---------------
    Forms whose own colours are found on the drawn page.
    """
    return np.array(wish.own_colours, dtype=np.int64) if wish.own_colours else None


def _refuse_unknown(what: str, asked: Sequence[str], known: Sequence[str]) -> None:
    for name in asked:
        if name not in known:
            raise BadSetting(f'there is no {what} "{name}".', todo=f"Choose from {', '.join(known)}.")
