"""A scan in a TIFF file, read window by window: 24 x 36 in at 1200 ppi are 3.7 GB, and stay in the file."""

from __future__ import annotations

import zlib
from collections.abc import Iterator
from typing import TYPE_CHECKING, Any, BinaryIO

import numpy as np
from numpy.typing import NDArray

from laydown.kernel.errors import BadSetting, UnreadableFile

if TYPE_CHECKING:
    from tifffile import TiffPage

_MOST_BYTES = 400_000_000  # of one strip or tile once it is unpacked
_NO_PACKING = 1
_DEFLATE = (8, 32946)
_DEFLATE_AT_MOST = 1032  # times smaller than what was packed
# Photometric interpretations of TIFF 6.0 in which light is high, or only turned round.
_WHITE_IS_ZERO, _BLACK_IS_ZERO, _RGB = 0, 1, 2
_TOGETHER = 1
_INCH, _CENTIMETRE = 2, 3
_SAVE = "Save the scan again as an RGB or grey TIFF with 8 or 16 bits, uncompressed or deflate, in strips."


class TiffScan:
    """A scan in a TIFF file: its size, its resolution, and windows of it.

    Strips and tiles are unpacked as windows ask for them, and forgotten; of an unpacked file only the pixels
    asked for are read. The file must stay open as long as this is used.

    Parameters
    ----------
    file : opened for reading bytes

    Raises
    ------
    UnreadableFile
        if it is no TIFF, or one that cannot be a scan, in a sentence.

    Checked against
    ---------------
    Files written by two libraries, in strips, tiles and one piece; what was written comes back.
    """

    def __init__(self, file: BinaryIO) -> None:
        self._file = file
        self._page = _scan_page(file)
        page = self._page
        self._channels = page.samplesperpixel - len(page.extrasamples)
        plane = (int(page.imagelength), int(page.imagewidth))
        self.shape: tuple[int, ...] = plane if self._channels == 1 else (*plane, self._channels)
        self.dtype: np.dtype[Any] = np.dtype(page.dtype)

    @property
    def ppi(self) -> float | None:
        """Pixels per inch as the file says; None where it does not, or says other than one for both ways."""
        tags = self._page.tags
        unit = tags[296].value if 296 in tags else _INCH
        if 282 not in tags or 283 not in tags or unit not in (_INCH, _CENTIMETRE):
            return None
        across, down = (float(np.divide(*tags[number].value)) for number in (282, 283))
        if not 0.0 < across < np.inf or abs(down / across - 1.0) > 1e-4:
            return None
        return across * (2.54 if unit == _CENTIMETRE else 1.0)

    def __getitem__(self, window: tuple[slice, slice]) -> NDArray[Any]:
        rows, columns = (
            range(*part.indices(side)) for part, side in zip(window, self.shape[:2], strict=True)
        )
        if rows.step != 1 or columns.step != 1:
            raise BadSetting("a window of a scan has neither gaps nor turns.", todo="Ask for whole windows.")
        plain = self._page.compression == _NO_PACKING and self._page.is_contiguous
        pixels = self._plain(rows, columns) if plain else self._unpacked(rows, columns)
        if self._page.photometric == _WHITE_IS_ZERO:
            pixels = np.iinfo(pixels.dtype).max - pixels if pixels.dtype.kind == "u" else 1 - pixels
        return pixels[..., 0] if self._channels == 1 else pixels[..., : self._channels]

    def _plain(self, rows: range, columns: range) -> NDArray[Any]:
        """Pixels that lie in the file one after another."""
        stored = self.dtype.newbyteorder(self._page.parent.byteorder)
        samples = self._page.samplesperpixel
        pixel, wide = stored.itemsize * samples, int(self._page.imagewidth)
        first = int(self._page.dataoffsets[0])
        whole = len(columns) == wide
        runs = [(rows.start, len(rows))] if whole else [(row, 1) for row in rows]
        parts = []
        for row, count in runs:
            self._file.seek(first + (row * wide + columns.start) * pixel)
            parts.append(self._file.read(count * len(columns) * pixel))
        pixels = np.frombuffer(b"".join(parts), dtype=stored)
        if pixels.size != len(rows) * len(columns) * samples:
            raise UnreadableFile("the scan ends before its last row.", todo="Copy the file again.")
        return pixels.astype(self.dtype, copy=False).reshape(len(rows), len(columns), samples)

    def _unpacked(self, rows: range, columns: range) -> NDArray[Any]:
        """Pixels of strips or tiles, each unpacked on its own."""
        out = np.zeros((len(rows), len(columns), self._page.samplesperpixel), dtype=self.dtype)
        for index in self._segments(rows, columns):
            self._file.seek(int(self._page.dataoffsets[index]))
            packed = self._file.read(int(self._page.databytecounts[index]))
            _check_size(packed, self._page)
            try:
                decoded, at, size = self._page.decode(packed, index, jpegtables=self._page.jpegtables)
            except (ValueError, RuntimeError, OSError, zlib.error) as why:
                raise UnreadableFile(f"a part of the scan cannot be unpacked ({why}).", todo=_SAVE) from why
            top, left = int(at[2]), int(at[3])
            high, wide = int(size[1]), int(size[2])
            if decoded is None:  # an empty part: nothing was scanned there
                continue
            one = decoded[0, :high, :wide]
            down = slice(max(top, rows.start), min(top + high, rows.stop))
            across = slice(max(left, columns.start), min(left + wide, columns.stop))
            out[down.start - rows.start : down.stop - rows.start,
                across.start - columns.start : across.stop - columns.start] = one[
                    down.start - top : down.stop - top, across.start - left : across.stop - left
                ]  # fmt: skip
        return out

    def _segments(self, rows: range, columns: range) -> Iterator[int]:
        """Numbers of the strips or tiles that a window touches."""
        if not len(rows) or not len(columns):
            return
        high, wide = (int(side) for side in self._page.chunks[:2])
        across = -(-int(self._page.imagewidth) // wide)
        for down in range(rows.start // high, (rows.stop - 1) // high + 1):
            for right in range(columns.start // wide, (columns.stop - 1) // wide + 1):
                yield down * across + right


def _scan_page(file: BinaryIO) -> TiffPage:
    from tifffile import TiffFile, TiffFileError, TiffPage

    file.seek(0)
    try:
        pages = [page for page in TiffFile(file).pages if isinstance(page, TiffPage)]
    except (TiffFileError, ValueError, KeyError, IndexError, OSError) as why:
        raise UnreadableFile(f"this is no TIFF file that can be read ({why}).", todo=_SAVE) from why
    if not pages:
        raise UnreadableFile("this TIFF file holds no picture.", todo=_SAVE)
    areas = [int(page.imagelength) * int(page.imagewidth) for page in pages]
    # Small pictures beside the scan are previews; a second one of its size is a second scan.
    if sum(area == max(areas) for area in areas) > 1:
        raise UnreadableFile(
            f"this TIFF file holds {len(pages)} pictures.", todo="Save each scan in a file of its own."
        )
    page = pages[int(np.argmax(areas))]
    _check(page)
    return page


def _check(page: TiffPage) -> None:
    from tifffile import TIFF

    wrong = ""
    if page.photometric not in (_WHITE_IS_ZERO, _BLACK_IS_ZERO, _RGB):
        wrong = "it holds inks or a palette instead of light"
    elif page.planarconfig != _TOGETHER:
        wrong = "it keeps its channels one after another"
    elif page.dtype is None or page.dtype.str[1:] not in ("u1", "u2", "f4", "f8"):
        wrong = f"it has {page.bitspersample} bits for each value"
    elif page.compression not in TIFF.DECOMPRESSORS:
        wrong = "it is packed in a way that cannot be unpacked here"
    elif page.compression != _NO_PACKING or not page.is_contiguous:
        size = int(np.prod(page.chunks)) * page.dtype.itemsize
        if size > _MOST_BYTES:
            wrong = f"it is packed in one piece of {size / 1e9:.1f} GB"
    if wrong:
        raise UnreadableFile(f"this TIFF file cannot be read as a scan: {wrong}.", todo=_SAVE)


def _check_size(packed: bytes, page: TiffPage) -> None:
    """Refuse a part that unpacks to far more than the file says: it was made to fill the memory."""
    if page.compression not in _DEFLATE or len(packed) * _DEFLATE_AT_MOST <= _MOST_BYTES:
        return
    most = int(np.prod(page.chunks)) * np.dtype(page.dtype).itemsize
    opened, size = zlib.decompressobj(), 0
    while packed and size <= most:
        size += len(opened.decompress(packed, 2**24))
        packed = opened.unconsumed_tail
    if size > most:
        raise UnreadableFile("a part of the scan is larger than the file says.", todo=_SAVE)
