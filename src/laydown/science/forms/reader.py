"""What an instrument needs of the patches it reads: size, what lies between them, how long a row may be."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Literal

from laydown.kernel.constants import Constant
from laydown.kernel.errors import BadSetting

ReaderKind = Literal["spot", "strip", "scanner"]
Spacer = Literal["none", "white", "black", "contrast"]

BORDER_CONTRAST = Constant(
    0.15,
    "of full scale in some channel",
    "our own judgement: what a strip reader needs to see a border",
    "common practice, no source",
)
APERTURE_ROOM = Constant(
    0.5,
    "mm on each side",
    "our own judgement: how far a hand or a carriage misses the middle of a patch",
    "common practice, no source",
)


@dataclass(frozen=True, slots=True)
class Reader:
    """An instrument as the layout sees it; lengths in mm, a row runs from left to right.

    ``patch_width_mm`` is along the row. ``gap_mm`` lies between the patches of a row and is filled by
    ``spacer``: left bare ("white"), black, or whichever of the two differs more from both neighbours
    ("contrast"). Without spacers neighbours are chosen to differ by ``least_contrast``. ``lead_in_mm`` and
    ``lead_out_mm`` stay bare before and after a row; ``longest_row_mm`` counts them in. ``row_pitch_mm`` is
    from the top of a row to the top of the next. ``row_marks`` puts a pointer where each row begins.
    ``aperture_mm`` is the width of what the instrument sees at once, 0 where it is not known: a patch must be
    larger by ``APERTURE_ROOM`` on each side, or its neighbours are read with it.
    """

    kind: ReaderKind
    patch_width_mm: float
    patch_height_mm: float
    gap_mm: float = 0.0
    spacer: Spacer = "none"
    lead_in_mm: float = 0.0
    lead_out_mm: float = 0.0
    longest_row_mm: float | None = None
    row_pitch_mm: float = 0.0
    row_marks: bool = False
    least_contrast: float = 0.0
    label_pt: float = 7.0
    aperture_mm: float = 0.0

    @property
    def pitch_mm(self) -> float:
        """From the top of one row to the top of the next; patches touch where nothing else is said."""
        return self.row_pitch_mm or self.patch_height_mm


def check_reader(reader: Reader) -> None:
    """Refuse a reader that no patches can be laid out for.

    Apart from the reader itself, so that forms that were made by other rules can still be read.

    Parameters
    ----------
    reader : Reader

    Returns
    -------
    None: patches may be laid out

    Raises
    ------
    BadSetting
        names the size that makes no sense.

    Checked against
    ---------------
    Readers with one planted fault each.
    """
    if min(reader.patch_width_mm, reader.patch_height_mm) <= 0.0 or reader.label_pt <= 0.0:
        raise BadSetting("a patch has no size.", todo="Give width and height in mm, and labels a size.")
    lengths = (reader.gap_mm, reader.lead_in_mm, reader.lead_out_mm, reader.row_pitch_mm, reader.aperture_mm)
    if min(lengths) < 0.0:
        raise BadSetting("a gap, lead or aperture is below zero.", todo="Give lengths of 0 mm or more.")
    needed = reader.aperture_mm + 2.0 * APERTURE_ROOM.value
    if reader.aperture_mm and min(reader.patch_width_mm, reader.patch_height_mm) < needed:
        raise BadSetting(
            f"a patch of {reader.patch_width_mm:g} x {reader.patch_height_mm:g} mm is too small: the "
            f"instrument sees {reader.aperture_mm:g} mm at once and would read the neighbours with it.",
            todo=f"Make patches at least {needed:g} mm wide and high.",
        )
    if reader.spacer != "none" and reader.gap_mm == 0.0:
        raise BadSetting(
            f"{reader.spacer} spacers have no width.", todo="Give the gap between patches in mm."
        )
    if 0.0 < reader.row_pitch_mm < reader.patch_height_mm:
        raise BadSetting(
            f"rows {reader.row_pitch_mm:g} mm apart would lie over each other: a patch is "
            f"{reader.patch_height_mm:g} mm high.",
            todo="Set the rows farther apart.",
        )


#: Invented defaults, no product's; the instrument's manual says what it needs.
SPOT_READER = Reader("spot", 10.0, 10.0, aperture_mm=4.5)
STRIP_READER = Reader(
    "strip",
    8.0,
    9.0,
    gap_mm=1.0,
    spacer="contrast",
    lead_in_mm=14.0,
    lead_out_mm=14.0,
    longest_row_mm=245.0,
    row_pitch_mm=11.0,
    row_marks=True,
    aperture_mm=4.5,
)
FLATBED_SCANNER = Reader("scanner", 6.0, 6.0)
_USUAL = {one.kind: one for one in (SPOT_READER, STRIP_READER, FLATBED_SCANNER)}


def usual_reader(kind: ReaderKind, *, patch_mm: float | None = None) -> Reader:
    """A reader of a kind, with patches of the size asked for.

    A beginning for somebody who has not the manual at hand; its leads and gaps are invented.

    Parameters
    ----------
    kind : "spot", "strip" or "scanner"
    patch_mm : width and height of a patch; what is usual for the kind where not given

    Returns
    -------
    Reader; the bare stretch between rows of a strip reader stays as wide as it was

    Raises
    ------
    BadSetting
        for another kind, or a patch smaller than the instrument sees at once.

    Checked against
    ---------------
    Sizes asked for; rows that keep their distance; the refusal of a patch below the aperture.
    """
    if kind not in _USUAL:
        known = ", ".join(f'"{one}"' for one in _USUAL)
        raise BadSetting(f'there is no reader "{kind}".', todo=f"Choose from {known}.")
    usual = _USUAL[kind]
    if patch_mm is None:
        return usual
    between = usual.pitch_mm - usual.patch_height_mm
    pitch = patch_mm + between if usual.row_pitch_mm else 0.0
    made = replace(usual, patch_width_mm=patch_mm, patch_height_mm=patch_mm, row_pitch_mm=pitch)
    check_reader(made)
    return made
