"""The device values of a chart, from its reference file or from any measurement of it."""

from __future__ import annotations

from laydown.kernel.errors import UnreadableFile
from laydown.science.readings.cgats import is_cgats, read_cgats
from laydown.science.readings.decoding import decode_text
from laydown.science.readings.reading import read_measurements
from laydown.science.readings.table import read_table
from laydown.science.readings.types import Readings
from laydown.science.readings.wordings import DEVICE_ONLY


def read_target(data: bytes, *, file: str) -> Readings:
    """Read which device colours a chart has, and where they lie if the file says so.

    A reference file lists device values and no colours; a measurement of the chart has both. Not for
    measurements as such: use ``read_measurements``.

    Parameters
    ----------
    data : the file's bytes.
    file : its name, for messages.

    Returns
    -------
    Readings
        The first table with device values; its colours, where it has any, are those of that one print.

    Raises
    ------
    UnreadableFile
        The file cannot be read, or names no device values.

    Checked against
    ---------------
    A chart written with and without its readings, in the tests.
    """
    try:
        tables = read_measurements(data, file=file).tables
    except UnreadableFile as refusal:
        if refusal.what != DEVICE_ONLY:
            raise
        text = decode_text(data, file=file)
        reader = read_cgats if is_cgats(text) else read_table
        tables = reader(text, file=file, device_will_do=True).tables
    for table in tables:
        if table.device is not None:
            return table
    raise UnreadableFile(
        "this file names no device values, so it cannot say which chart was printed.",
        todo="Give the chart's reference file, or a measurement that was exported with device values.",
        file=file,
    )
