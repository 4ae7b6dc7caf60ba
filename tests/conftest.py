"""Fixtures every test may use."""

from __future__ import annotations

import os
from pathlib import Path

import numpy as np
import pytest


def _shared() -> Path:
    named = os.environ.get("LAYDOWN_SHARED_DATA")
    return Path(named) if named else Path(__file__).resolve().parents[2] / "shared" / "data"


@pytest.fixture(scope="session")
def shared_data() -> Path:
    """Folder of real measurements kept beside the checkout; skips, saying so, where it is absent."""
    folder = _shared()
    if not folder.is_dir():
        pytest.skip(f"LEFT OUT: no measured data at {folder}")
    return folder


@pytest.fixture
def rng() -> np.random.Generator:
    return np.random.default_rng(20260131)


TABLES = Path(__file__).parent / "tables"


@pytest.fixture(scope="session")
def tables() -> Path:
    """Published reference values, each file with its source."""
    return TABLES
