"""Labels for the backs of prints that say nothing about them: a code of four letters and no more."""

from __future__ import annotations

import numpy as np

from laydown.kernel.errors import BadSetting
from laydown.science.forms.device_colours import grey
from laydown.science.forms.labels import label
from laydown.science.forms.lettering import MM_PER_POINT, text_outlines, text_width_mm
from laydown.science.forms.page import Block, Box, Element, Page, Shape

#: No vowels (nothing to be read as a word), none that looks like a digit or like another one upside down.
LETTERS = "CDHJKLMNPRTXY"
LONG = 4
_SIZE_PT = 34.0
#: How many codes `numbered_code` can give: three free letters, and a fourth that follows from them.
NUMBERED = len(LETTERS) ** (LONG - 1)
_WEIGHTS = (1, 2, 3)  # of the free letters in the fourth; any that 13 does not divide keep codes apart


def numbered_code(number: int, *, rng: np.random.Generator) -> str:
    """The code of a number, where the same chance gives the same code for ever.

    Take it where codes are not kept but worked out again each time. Any two of these codes differ in two
    places at least, since the fourth letter follows from the other three, and which number has which code
    says nothing to who does not have the chance.

    Parameters
    ----------
    number : from 0, below ``NUMBERED``
    rng : where chance comes from, in the same state each time

    Returns
    -------
    four letters

    Raises
    ------
    BadSetting
        if there is no such number.

    Notes
    -----
    Codes are put in order by the raw output of the generator, which NumPy keeps the same for a seed.

    Checked against
    ---------------
    All of them, pair by pair.
    """
    if not 0 <= number < NUMBERED:
        raise BadSetting(f"there is no blind code of number {number}.", todo=f"Use 0 to {NUMBERED - 1}.")
    keys = rng.bit_generator.random_raw(NUMBERED)
    place = int(np.argsort(keys, kind="stable")[number])
    free = [place // len(LETTERS) ** power % len(LETTERS) for power in range(LONG - 1)]
    last = sum(weight * letter for weight, letter in zip(_WEIGHTS, free, strict=True)) % len(LETTERS)
    return "".join(LETTERS[letter] for letter in (*free, last))


def blind_label(
    code: str, *, channels: tuple[str, ...] = ("K",), width_mm: float = 60.0, height_mm: float = 28.0
) -> Page:
    """A label with a code and nothing else, to be stuck on the back of a print.

    Parameters
    ----------
    code : four letters
    channels : names of the device values of the label
    width_mm, height_mm : size of the label

    Returns
    -------
    Page with one Element of kind "blind code"; fact ``text``

    Raises
    ------
    BadSetting
        if the label is too small, or the code holds letters that are easily misread.

    Checked against
    ---------------
    Ink stays inside the label; a line below the letters shows which way up they are read.
    """
    if len(code) != LONG or not set(code) <= set(LETTERS):
        raise BadSetting(f'"{code}" is no blind code.', todo=f"Use {LONG} letters of {LETTERS}.")
    spaced = " ".join(code)
    wide = text_width_mm(spaced, size_pt=_SIZE_PT)
    high = _SIZE_PT * MM_PER_POINT
    if width_mm < wide + 8.0 or height_mm < high + 10.0:
        raise BadSetting(
            f"a label of {width_mm:g} x {height_mm:g} mm is too small for its code.",
            todo=f"Give it {np.ceil(wide + 8.0):g} x {np.ceil(high + 10.0):g} mm or more.",
        )
    base = height_mm / 2.0 + high * 0.3
    left = (width_mm - wide) / 2.0
    ink = grey(0.0, channels)
    letters = Shape(text_outlines(spaced, left_mm=left, baseline_mm=base, size_pt=_SIZE_PT), ink)
    line = Block(Box(left, base + 2.0, left + wide, base + 2.8), ink)
    told = label(
        "read above this line", left_mm=width_mm / 2.0, top_mm=base + 3.2, channels=channels, align=0.5
    )
    whole = Box(0.0, 0.0, width_mm, height_mm)
    element = Element("blind code", code, whole, (letters, line, told), {"text": code})
    return Page(f"blind label {code}", width_mm, height_mm, channels, (element,))
