"""Sheets of invented media with known truth, brought to the form the findings work on."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest

from laydown.kernel.stated import Stated
from laydown.science.findings.reduction import Reduced, reduce_readings
from laydown.science.prints import (
    MATTE_COTTON,
    WAVELENGTHS_NM,
    Medium,
    Noise,
    SheetState,
    print_sheet,
    read_sheet,
    surface_colours,
)
from laydown.science.readings.types import Conditions, Readings

Maker = Callable[..., Reduced]


def device_colours() -> np.ndarray:
    """A small chart: cube faces with 4 levels, a neutral ramp, white and black eight times."""
    ramp = np.repeat(np.linspace(0, 255, 12)[:, None], 3, axis=1)
    ends = np.repeat(np.array([[255.0] * 3, [0.0] * 3]), 7, axis=0)
    return np.concatenate([surface_colours(4), ramp[1:-1], ends]) / 255.0


def print_one(seed: int, noise: Noise | None = None) -> SheetState:
    return print_sheet(len(device_colours()), noise=noise or Noise(), rng=np.random.default_rng(seed))


@pytest.fixture(scope="session")
def reduced() -> Maker:
    """``reduced(file, state, condition="M1", medium=..., order=..., backing="white")`` -> one Reduced."""

    def make(
        file: str,
        state: SheetState,
        *,
        condition: str = "M1",
        backing: str = "white",
        medium: Medium = MATTE_COTTON,
        order: np.ndarray | None = None,
        keep: np.ndarray | None = None,
        check_rows: bool = False,
        stated: bool = True,
        seed: int = 1,
    ) -> Reduced:
        device = device_colours()
        rng = np.random.default_rng(seed + sum(map(ord, file)))
        spectra = read_sheet(
            device,
            medium=medium,
            sheet_state=state,
            noise=Noise(),
            rng=rng,
            condition=condition,
            backing=backing,
        )
        rows = np.arange(len(device)) if order is None else order
        if keep is not None:
            rows = rows[np.isin(rows, keep)]
        conditions = Conditions(backing=Stated(backing, "made up"))
        if stated:
            conditions = replace(conditions, measurement=Stated(condition, "made up"))
        readings = Readings(
            file=file,
            ids=tuple(f"P{row}" for row in rows),
            names=tuple("" for _ in rows),
            lines=np.arange(10, 10 + len(rows)),
            channels=("R", "G", "B"),
            device=device[rows],
            device_scale=Stated(255.0, "made up"),
            wavelengths_nm=WAVELENGTHS_NM,
            reflectance=spectra[rows],
            conditions=conditions,
        )
        return reduce_readings(readings, check_rows=check_rows)

    return make


@pytest.fixture(scope="session")
def printed() -> Callable[..., SheetState]:
    return print_one
