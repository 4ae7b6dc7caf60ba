"""Reflectance spectra to XYZ: Laydown beside colour-science, in one run, on the same numbers.

colour-science converts many spectra at once by integration (its ASTM E308 method takes one spectrum at a
time), so both are timed: integration for all, E308 for the first thousand and multiplied up. The first is the
fair comparison of speed, the second of method.

Run: ``python benchmarks/bench_spectra.py [spectra ...]`` (default 3000 and 1e5). Needs the ``checks`` extra.
"""

from __future__ import annotations

import os
import sys
import time
import warnings
from collections.abc import Callable
from statistics import median
from typing import Any

import numpy as np

from laydown.kernel.arrays import Floats
from laydown.science.colour import xyz_from_reflectance

warnings.simplefilter("ignore")  # colour-science warns that it cannot plot, and of every fold
import colour  # noqa: E402

ROUNDS = 5
BANDS = np.arange(380.0, 731.0, 10.0)
# Half a unit of the fifth decimal of our weights over 36 bands, on Y = 100.
AGREE_WITHIN_E308 = 36 * 5e-6
# Integration at 10 nm is another method than weights made for 10 nm, hence only to about 0.05 of Y = 100.
AGREE_WITHIN_INTEGRATION = 0.25
ONE_BY_ONE = 1000

SHAPE = colour.SpectralShape(380, 730, 10)
FULL = colour.SpectralShape(360, 780, 1)
OBSERVER = colour.MSDS_CMFS["CIE 1931 2 Degree Standard Observer"]
LIGHT = colour.SDS_ILLUMINANTS["D50"]


def spectra(n: int) -> Floats:
    """Smooth spectra between 0 and 1: a level, a slope and a bump, as inks on paper have."""
    rng = np.random.default_rng(20150101)
    level, slope, height, centre = rng.uniform([0.1, -0.1, -0.1, 400], [0.7, 0.1, 0.2, 700], (n, 4)).T[
        ..., None
    ]
    return np.asarray(level + slope * (BANDS - 555) / 175 + height * np.exp(-(((BANDS - centre) / 40) ** 2)))


def by_integration(reflectance: Floats) -> Floats:
    functions, light = OBSERVER.copy().align(SHAPE), LIGHT.copy().align(SHAPE)
    return np.asarray(colour.msds_to_XYZ(reflectance, functions, light, method="Integration", shape=SHAPE))


def one_by_one(reflectance: Floats) -> Floats:
    functions, light = OBSERVER.copy().align(FULL), LIGHT.copy().align(FULL)
    convert = colour.colorimetry.sd_to_XYZ_tristimulus_weighting_factors_ASTME308
    return np.array([convert(colour.SpectralDistribution(r, BANDS), functions, light) for r in reflectance])


def seconds(work: Callable[[], Any]) -> float:
    start = time.perf_counter()
    work()
    return time.perf_counter() - start


def main(sizes: list[int]) -> None:
    print(f"{os.cpu_count()} processors; median of {ROUNDS} interleaved rounds after one to warm up")
    for n in sizes:
        sample = spectra(n)
        some = sample[:ONE_BY_ONE]
        found = xyz_from_reflectance(sample, wavelengths_nm=BANDS)
        worst = float(np.abs(found[:ONE_BY_ONE] - one_by_one(some)).max())
        apart = float(np.abs(found - by_integration(sample)).max())
        if not (worst <= AGREE_WITHIN_E308 and apart <= AGREE_WITHIN_INTEGRATION):
            sys.exit(f"the two disagree: E308 by {worst:g}, integration by {apart:g}, of Y = 100")
        ours, integrated, single = [], [], []
        for _ in range(ROUNDS):
            ours.append(seconds(lambda: xyz_from_reflectance(sample, wavelengths_nm=BANDS)))  # noqa: B023
            integrated.append(seconds(lambda: by_integration(sample)))  # noqa: B023
            single.append(seconds(lambda: one_by_one(some)) * n / len(some))  # noqa: B023
        own, whole, alone = median(ours), median(integrated), median(single)
        print(f"{n} spectra: laydown {own * 1e3:.2f} ms")
        print(f"  integration, all at once: {whole * 1e3:.2f} ms, {whole / own:.1f}x (apart {apart:.2g})")
        print(f"  E308, one by one: {alone * 1e3:.0f} ms, {alone / own:.0f}x (agree to {worst:.0e})")


if __name__ == "__main__":
    main([int(float(size)) for size in sys.argv[1:]] or [3000, 100_000])
