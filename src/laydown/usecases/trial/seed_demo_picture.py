"""Pictures of the demo, drawn point by point: its chart, and what stands for a photograph of a bad print."""

from __future__ import annotations

import struct
import zlib

import numpy as np

from laydown.kernel.arrays import Floats
from laydown.science.prints import Chart

_PATCH = 12  # pixels
_LETTERS = {
    "I": ("111", "010", "010", "010", "111"),
    "N": ("1001", "1101", "1011", "1001", "1001"),
    "V": ("101", "101", "101", "101", "010"),
    "E": ("111", "100", "110", "100", "111"),
    "T": ("111", "010", "010", "010", "010"),
    "D": ("110", "101", "101", "101", "110"),
}


def chart_picture(chart: Chart) -> bytes:
    """The chart as a PNG, one square for each patch, in device colours."""
    rows, columns = chart.positions.max(axis=0) + 1
    page = np.ones((rows, columns, 3))
    page[chart.positions[:, 0], chart.positions[:, 1]] = chart.device_rgb
    return png(page.repeat(_PATCH, axis=0).repeat(_PATCH, axis=1))


def hook_picture(*, rng: np.random.Generator) -> bytes:
    """A grey wedge whose darkest steps turn cloudy and lighter again, with the word INVENTED across it."""
    steps, height, width = 12, 220, 60
    lightness = np.linspace(0.92, 0.10, steps)
    lightness[-2:] = (0.17, 0.22)  # the hook: more ink, less black
    picture = np.full((height + 40, steps * width + 40, 3), 0.55)
    for step, level in enumerate(lightness):
        mottle = 0.006 if step < steps - 3 else 0.05
        cloud = _cloud(height, width, rng=rng) * mottle
        picture[20:-20, 20 + step * width : 20 + (step + 1) * width] = (level + cloud)[:, :, None]
    _write(picture, "INVENTED", top=36, left=40, scale=6)
    return png(picture)


def png(picture: Floats) -> bytes:
    """An image of (row, column, 3) from 0 to 1 as an eight-bit PNG."""
    levels = np.rint(np.clip(picture, 0.0, 1.0) * 255.0).astype(np.uint8)
    height, width, _ = levels.shape
    lines = b"".join(b"\x00" + line.tobytes() for line in levels)
    return (
        b"\x89PNG\r\n\x1a\n"
        + _chunk(b"IHDR", struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0))
        + _chunk(b"IDAT", zlib.compress(lines, 6))
        + _chunk(b"IEND", b"")
    )


def _chunk(kind: bytes, content: bytes) -> bytes:
    return struct.pack(">I", len(content)) + kind + content + struct.pack(">I", zlib.crc32(kind + content))


def _cloud(height: int, width: int, *, rng: np.random.Generator) -> Floats:
    """Soft blotches a few millimetres wide."""
    coarse = rng.normal(size=(height // 10 + 2, width // 10 + 2))
    blotches = coarse.repeat(10, axis=0).repeat(10, axis=1)[:height, :width]
    return np.asarray((blotches + np.roll(blotches, 5, axis=0) + np.roll(blotches, 5, axis=1)) / 3)


def _write(picture: Floats, word: str, *, top: int, left: int, scale: int) -> None:
    """Large plain letters, dark on a light band."""
    width = sum(len(_LETTERS[letter][0]) + 1 for letter in word) * scale
    picture[top - 8 : top + 5 * scale + 8, left - 8 : left + width + 4] = 0.97
    for letter in word:
        for row, line in enumerate(_LETTERS[letter]):
            for column, dot in enumerate(line):
                if dot == "1":
                    y, x = top + row * scale, left + column * scale
                    picture[y : y + scale, x : x + scale] = 0.05
        left += (len(_LETTERS[letter][0]) + 1) * scale
