"""The front door of the readers: bytes in, readings and problems out, whatever the kind of file."""

from __future__ import annotations

from dataclasses import replace

from laydown.kernel.errors import UnreadableFile
from laydown.kernel.problems import Problem
from laydown.science.readings.cgats import is_cgats, read_cgats
from laydown.science.readings.cxf import read_cxf
from laydown.science.readings.decoding import decode_text
from laydown.science.readings.icc_tags import find_characterisation, is_icc
from laydown.science.readings.limits import MAX_FILE_BYTES
from laydown.science.readings.table import read_table
from laydown.science.readings.types import FileReadings

_TODO = "Export the readings as CGATS text, CxF or CSV and use that file."
_NOTHING = b"\0 \t\r\n"
_SIGNATURES = (
    (b"PK\x03\x04", "a spreadsheet or zip archive"),
    (b"PK\x05\x06", "an empty zip archive"),
    (b"II*\0", "a TIFF image"),
    (b"MM\0*", "a TIFF image"),
    (b"%PDF", "a PDF document"),
    (b"\x89PNG", "a PNG image"),
    (b"\xff\xd8\xff", "a JPEG image"),
    (b"GIF8", "a GIF image"),
    (b"\x1f\x8b", "a compressed (gzip) file"),
    (b"7z\xbc\xaf", "a compressed (7z) file"),
    (b"Rar!", "a compressed (rar) file"),
    (b"\xd0\xcf\x11\xe0", "an old spreadsheet or office document"),
    (b"{\\rtf", "a word-processor document"),
    (b"8BPS", "an image document"),
    (b"SQLite format 3", "a database"),
)


def read_measurements(data: bytes, *, file: str, max_bytes: int = int(MAX_FILE_BYTES.value)) -> FileReadings:
    """Read measurements from the bytes of a file, recognised by what is in it.

    CGATS text in its dialects, CxF3, tables with a header row, and characterisation data inside ICC
    profiles. Not for images, spreadsheets or archives, which are refused by name.

    Parameters
    ----------
    data : the file's bytes.
    file : the file's name, only for messages and results; its extension is not looked at.
    max_bytes : the most bytes to accept.

    Returns
    -------
    FileReadings
        One ``Readings`` for each table and measuring condition, and every problem met.

    Raises
    ------
    UnreadableFile
        Where the file cannot mean measurements, or would be unsafe to read.

    Checked against
    ---------------
    Every file of the measured data; coverage-guided fuzzing (``tools/fuzz_readers.py``).

    Examples
    --------
    >>> data = b"SAMPLE_ID,R,G,B,L,a,b\\n1,255,255,255,96.2,1.0,-4.4\\n"
    >>> read_measurements(data, file="paper.csv").tables[0].lab.tolist()
    [[96.2, 1.0, -4.4]]
    """
    if len(data) > max_bytes:
        what = f"the file is larger than {max_bytes // (1024 * 1024)} MB, far more than any chart needs."
        raise UnreadableFile(what, todo="Split it, or check that it is the right file.", file=file)
    # Looking at the first bytes spares a copy of a large file.
    if not data[:4096].strip(_NOTHING) and not data.strip(_NOTHING):
        raise UnreadableFile("the file is empty.", todo="Export the readings again.", file=file)
    for signature, kind in _SIGNATURES:
        if data.startswith(signature):
            raise UnreadableFile(f"this is {kind}, not a measurement file.", todo=_TODO, file=file)
    if is_icc(data):
        return _read_icc(data, file)
    return _read_inner(data, file)


def _read_inner(data: bytes, file: str) -> FileReadings:
    """Read CxF, CGATS or a table."""
    if _is_xml(data):
        return read_cxf(data, file=file)
    text = decode_text(data, file=file)
    if is_cgats(text):
        return read_cgats(text, file=file)
    return read_table(text, file=file)


def _is_xml(data: bytes) -> bool:
    """Whether the first sign is a ``<``, in any encoding."""
    return data[:64].replace(b"\0", b"").lstrip(b"\xef\xbb\xbf\xff\xfe \t\r\n").startswith(b"<")


def _read_icc(data: bytes, file: str) -> FileReadings:
    """Read the first characterisation tag of a profile that can be read."""
    refused: UnreadableFile | None = None
    for name, content in find_characterisation(data, file=file):
        try:
            found = _read_inner(content, file)
        except UnreadableFile as refusal:
            refused = refused or refusal
            continue
        note = Problem(
            "note", f"read from the {name} tag of an ICC profile; line numbers count within it.", file=file
        )
        tables = tuple(replace(table, format=f"{table.format} in an ICC profile") for table in found.tables)
        return FileReadings(file=file, tables=tables, problems=(note, *found.problems))
    if refused is None:
        raise UnreadableFile("this ICC profile holds no measurements.", todo=_TODO, file=file)
    raise refused
