"""Refusals every reader shares, in words a printmaker understands."""

from __future__ import annotations

from laydown.kernel.errors import UnreadableFile
from laydown.science.readings.columns import ColumnMeaning

DEVICE_ONLY = "this is a list of device colours (a reference or target file), not measurements."
DIFFERENCES = "this is a table of colour differences, not of measured colours."
NO_COLOUR = "no column of this table is a measured colour (a spectrum, Lab, XYZ or densities)."


def no_colour(meaning: ColumnMeaning, *, file: str, line: int | None = None) -> UnreadableFile:
    """The refusal of a table without measured colours, saying what it is instead.

    Parameters
    ----------
    meaning : what the columns are.
    file, line : the place.

    Returns
    -------
    The refusal, to be raised.

    Checked against
    ---------------
    Device lists and difference tables among the measured data.
    """
    if meaning.differences:
        return UnreadableFile(
            DIFFERENCES, todo="Use the file the readings themselves were exported to.", file=file
        )
    if meaning.device:
        todo = "Print and measure that chart, then use the file the instrument writes."
        return UnreadableFile(DEVICE_ONLY, todo=todo, file=file)
    todo = "Export spectra or Lab values with their column names."
    return UnreadableFile(NO_COLOUR, todo=todo, file=file, line=line)
