"""Meshes with known volumes, and a plain reader of the measured charts for these tests only."""

from __future__ import annotations

import re
from collections.abc import Callable
from pathlib import Path
from typing import NamedTuple

import numpy as np
import pytest

from laydown.kernel.arrays import Floats, Ints
from laydown.science.colour import lab_from_reflectance
from laydown.science.gamut import cube_faces, device_surface


class Chart(NamedTuple):
    device: Floats
    lab: Floats
    channels: tuple[str, ...]


class Mesh(NamedTuple):
    device: Floats
    vertices: Floats
    triangles: Ints


def cube_mesh(cells: int) -> Mesh:
    device = cube_faces(cells)
    surface = device_surface(device)
    assert surface is not None
    return Mesh(device, device.copy(), surface.triangles)


def ball(cells: int, *, radius: float = 1.0, centre: tuple[float, float, float] = (0.0, 0.0, 0.0)) -> Mesh:
    """Sphere got by pushing the surface of a cube out to one radius."""
    device, places, triangles = cube_mesh(cells)
    places = places - 0.5
    places = radius * places / np.linalg.norm(places, axis=1, keepdims=True) + np.array(centre)
    return Mesh(device, places, triangles)


def _read(path: Path) -> Chart:
    text = path.read_text(encoding="latin-1")
    fields = re.search(r"BEGIN_DATA_FORMAT\s+(.*?)\s+END_DATA_FORMAT", text, re.S)
    block = re.search(r"BEGIN_DATA\s(.*?)END_DATA", text, re.S)
    assert fields is not None
    assert block is not None
    names = fields.group(1).split()
    rows = [line.split() for line in block.group(1).splitlines() if line.strip()]

    def columns(wanted: list[str]) -> Floats:
        return np.array([[float(row[names.index(name)]) for name in wanted] for row in rows])

    ink = "CMYK_C" in names
    channels = ("C", "M", "Y", "K") if ink else ("R", "G", "B")
    device = columns([("CMYK_" if ink else "RGB_") + c for c in channels]) / (100.0 if ink else 255.0)
    if "LAB_L" in names:
        return Chart(device, columns(["LAB_L", "LAB_A", "LAB_B"]), channels)
    bands = [name for name in names if name.startswith("SPECTRAL_NM")]
    return Chart(
        device,
        lab_from_reflectance(columns(bands), wavelengths_nm=[float(band[11:]) for band in bands]),
        channels,
    )


class Meshes:
    """Builders of meshes with known volumes."""

    cube = staticmethod(cube_mesh)
    ball = staticmethod(ball)


@pytest.fixture(scope="session")
def meshes() -> type[Meshes]:
    return Meshes


@pytest.fixture(scope="session")
def measured_chart(shared_data: Path) -> Callable[[str], Chart]:
    """Read one of the measured charts: device 0-1 and Lab."""
    cache: dict[str, Chart] = {}

    def read(name: str) -> Chart:
        if name not in cache:
            cache[name] = _read(shared_data / name)
        return cache[name]

    return read
