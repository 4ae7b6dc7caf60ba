"""Small files built to order, so that each test shows only what it is about."""

from __future__ import annotations

from collections.abc import Callable, Sequence

import pytest

from laydown.science.readings import FileReadings, read_measurements

RGB_LAB = ("SAMPLE_ID", "RGB_R", "RGB_G", "RGB_B", "LAB_L", "LAB_A", "LAB_B")
ROWS = ("1 255 255 255 96.2 1.0 -4.4", "2 0 0 0 15.1 0.5 -1.2", "3 0 128 255 50.1 -10.5 -40.25")


def build_cgats(
    *,
    header: Sequence[str] = (),
    names: Sequence[str] = RGB_LAB,
    rows: Sequence[str] = ROWS,
    first: str = "CGATS.17",
    newline: str = "\n",
) -> bytes:
    lines = [first, *header, "BEGIN_DATA_FORMAT", " ".join(names), "END_DATA_FORMAT"]
    lines += ["BEGIN_DATA", *rows, "END_DATA", ""]
    return newline.join(lines).encode()


@pytest.fixture
def cgats() -> Callable[..., bytes]:
    """Builder of CGATS bytes: header lines, names, rows, first word, newline."""
    return build_cgats


@pytest.fixture
def read() -> Callable[[bytes], FileReadings]:
    """Read bytes under a fixed name."""
    return lambda data: read_measurements(data, file="a.txt")


@pytest.fixture
def read_cgats(read: Callable[[bytes], FileReadings]) -> Callable[..., FileReadings]:
    """Build CGATS bytes and read them."""
    return lambda **parts: read(build_cgats(**parts))
