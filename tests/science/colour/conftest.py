"""What the colour tests share: the oracle library and the 24 chart spectra."""

from __future__ import annotations

import warnings
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from types import ModuleType

import numpy as np
import pytest

from laydown.kernel.arrays import Floats


@pytest.fixture(scope="session")
def colour_science() -> ModuleType:
    """colour-science, an independent implementation; it warns on import about plotting it cannot do."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        import colour
    return colour


@dataclass(frozen=True)
class Chart:
    """24 spectra and what is expected from them; see the head of the table."""

    wavelengths_nm: Floats
    reflectance: Floats
    columns: dict[str, Floats]

    def __getitem__(self, names: str) -> Floats:
        picked = [self.columns[name] for name in names.split()]
        return picked[0] if len(picked) == 1 else np.stack(picked, axis=-1)


@pytest.fixture(scope="session")
def chart(tables: Path) -> Chart:
    lines = (tables / "chart_24_spectra_380_730.csv").read_text().splitlines()
    head, *rows = [line.split(",") for line in lines if not line.startswith("#")]
    values = np.array([[float(cell) for cell in row[1:]] for row in rows])
    columns = {name: values[:, i] for i, name in enumerate(head[1:])}
    bands = [name for name in head if name.startswith("R") and name[1:].isdigit()]
    return Chart(
        wavelengths_nm=np.array([float(name[1:]) for name in bands]),
        reflectance=np.stack([columns[name] for name in bands], axis=-1),
        columns=columns,
    )


@pytest.fixture(scope="session")
def measured(shared_data: Path) -> Callable[[str], tuple[Floats, Floats, Floats]]:
    """Reads a measured matte chart by name: device RGB (n, 3), reflectance (n, 36), wavelengths (36,).

    Deliberately not the project's reader, which has its own tests.
    """

    def read(name: str) -> tuple[Floats, Floats, Floats]:
        text = (shared_data / "inkjet-matte" / f"{name}.txt").read_text(encoding="latin-1")
        fields = text.split("BEGIN_DATA_FORMAT")[1].split("END_DATA_FORMAT")[0].split()
        prefix = "SPECTRAL_NM"
        bands = np.array([float(field[len(prefix) :]) for field in fields if field.startswith(prefix)])
        rows = text.split("BEGIN_DATA\n")[1].split("END_DATA")[0].strip().splitlines()
        cells = np.array([row.replace('"', "").split()[-39:] for row in rows], dtype=float)
        return cells[:, :3], cells[:, 3:], bands

    return read
