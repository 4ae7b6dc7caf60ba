"""What the medium tests share: the oracle library and the whites of measured charts."""

from __future__ import annotations

import warnings
from collections.abc import Callable
from pathlib import Path
from types import ModuleType

import numpy as np
import pytest

from laydown.kernel.arrays import Floats

BANDS = np.arange(380.0, 731.0, 10.0)


@pytest.fixture(scope="session")
def colour_science() -> ModuleType:
    """colour-science, an independent implementation; it warns on import about plotting it cannot do."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        import colour
    return colour


@pytest.fixture(scope="session")
def whites(shared_data: Path) -> Callable[[str], Floats]:
    """Reflectance (n, 36) at 380-730 nm of the unprinted patches of a measured matte chart, by its name."""

    def read(name: str) -> Floats:
        text = (shared_data / "inkjet-matte" / f"{name}.txt").read_text(encoding="latin-1")
        rows = text.split("BEGIN_DATA\n")[1].split("END_DATA")[0].strip().splitlines()
        cells = np.array([row.replace('"', "").split()[-39:] for row in rows], dtype=float)
        return np.asarray(cells[(cells[:, :3] == 255).all(axis=1), 3:])

    return read


@pytest.fixture
def bands() -> Floats:
    """380-730 nm in steps of 10 nm."""
    return BANDS.copy()


@pytest.fixture
def bluish(bands: Floats) -> Floats:
    """A near-white with a glow at 440 nm, as brightened paper has it."""
    return np.asarray(0.9 + 0.15 * np.exp(-(((bands - 440.0) / 25.0) ** 2)))
