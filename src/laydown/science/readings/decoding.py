"""Raw bytes to plain text bytes: byte-order marks, character sets, line ends, and what is not text at all."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from laydown.kernel.errors import UnreadableFile
from laydown.science.readings.limits import MAX_LINE_BYTES

_TEXT_TODO = "Export the readings again as text (CGATS) or CSV."
_STEP, _LINE_FEED = 64 * 1024, 10
_UTF16 = ((b"\xff\xfe", "utf-16-le"), (b"\xfe\xff", "utf-16-be"))


@dataclass(frozen=True, slots=True)
class Text:
    """A text file as bytes with line feeds only; ``encoding`` turns any slice of it into letters."""

    body: bytes
    encoding: str

    def words(self, start: int, end: int) -> str:
        """The text between two byte positions."""
        return self.body[start:end].decode(self.encoding, errors="replace")

    def count_lines(self, start: int, end: int) -> int:
        """How many line feeds lie between two byte positions."""
        whole = np.frombuffer(self.body, dtype=np.uint8)
        steps = range(start, end, _STEP)
        return sum(int(np.count_nonzero(whole[a : min(a + _STEP, end)] == _LINE_FEED)) for a in steps)

    def line_of(self, position: int) -> int:
        """The line number, counted from 1, of a byte position."""
        return self.count_lines(0, position) + 1


def decode_text(data: bytes, *, file: str) -> Text:
    """Make text of a file's bytes.

    UTF-16 needs its byte-order mark; UTF-8 is tried first, then the Western single-byte set, which never
    fails. Not for XML, whose parser reads its own declaration.

    Parameters
    ----------
    data : the file's bytes.
    file : its name, for messages.

    Returns
    -------
    Text
        With CR and CRLF line ends turned into LF.

    Raises
    ------
    UnreadableFile
        Where the file holds zero bytes, is not valid UTF-16, or has a line too long to be measurements.

    Checked against
    ---------------
    Five character sets and three line ends (``test_cgats.py``).
    """
    encoding = "utf-8"
    if data.startswith(b"\xef\xbb\xbf"):
        data = data[3:]
    for mark, name in _UTF16:
        if data.startswith(mark):
            data = _from_utf16(data[2:], name, file)
    if b"\0" in data:
        what = "this file holds zero bytes, so it is damaged or is not a text file."
        raise UnreadableFile(what, todo=_TEXT_TODO, file=file)
    if b"\r" in data:
        data = data.replace(b"\r\n", b"\n").replace(b"\r", b"\n")
    if not data.isascii():
        try:
            data.decode("utf-8")
        except UnicodeDecodeError:
            encoding = "cp1252"
    text = Text(body=data, encoding=encoding)
    _refuse_long_lines(text, file)
    return text


def _from_utf16(data: bytes, name: str, file: str) -> bytes:
    try:
        return data.decode(name).encode("utf-8")
    except UnicodeError as error:
        what = "this file says it is UTF-16 text, but it is damaged or cut short."
        raise UnreadableFile(what, todo=_TEXT_TODO, file=file) from error


def _refuse_long_lines(text: Text, file: str) -> None:
    """Refuse a line above the limit; looks only once every limit's length, so it costs nothing."""
    body, limit, start = text.body, int(MAX_LINE_BYTES.value), 0
    while len(body) - start > limit:
        cut = body.rfind(b"\n", start, start + limit)
        if cut < 0:
            what = f"one line is longer than {limit // 1024} kB; no measurement file has such lines."
            raise UnreadableFile(what, todo=_TEXT_TODO, file=file, line=text.line_of(start))
        start = cut + 1
