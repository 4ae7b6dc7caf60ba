"""The whole way from a real file to a finding, against reference figures published beside the data.

Source of every figure: the README kept with the measured data (D50/2°, white 96.422/100/82.521; density
from A x V(lambda) weights; hull of all patches). Tolerances are those the digits allow: 0.02 Lab,
0.003 D, 0.1 % of a volume.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from laydown.records.measurement_files import MeasurementFile, find_measurement_files
from laydown.usecases.compare_media import compare_media
from laydown.usecases.comparison import Comparison

# file, patches, white L* a* b*, darkest L*, visual density, hull
MATTE = [
    ("chart-2033-M0", 2033, (96.22, 0.97, -4.42), 15.09, 1.712, 536_962),
    ("chart-2033-M2", 2033, (96.09, -0.97, 1.45), 15.13, 1.710, 519_067),
    ("chart-3190-M0", 3190, (96.30, 1.01, -4.33), 14.72, 1.726, 540_708),
    ("chart-3190-M2", 3190, (96.16, -0.94, 1.57), 14.74, 1.727, 522_934),
]
# TR005 and FOGRA39L hold no spectra, so density is -log10 of luminance.
CONDITIONS = [
    ("FOGRA39L", 1617, (95.00, 0.00, -2.00), 7.88, 2.060, 436_928),
    ("TR005", 1617, (90.06, -0.01, 4.14), 7.91, 2.056, 335_597),
]


def _compare(*paths: Path) -> Comparison:
    return compare_media(find_measurement_files(list(paths)).files)


def _check(
    comparison: Comparison, patches: int, white: tuple[float, ...], black: float, density: float, hull: float
) -> None:
    candidate = comparison.candidates[0]
    found = {finding.id: finding for finding in candidate.findings}
    assert candidate.sheets[0].patches == patches
    for name, expected in zip(("white_l", "white_a", "white_b"), white, strict=True):
        assert found[name].value == pytest.approx(expected, abs=0.02)
    assert found["black_l"].value == pytest.approx(black, abs=0.02)
    assert found["dmax_visual"].value == pytest.approx(density, abs=0.003)
    assert found["gamut_hull"].value == pytest.approx(hull, rel=0.001)
    assert found["gamut_volume"].value < found["gamut_hull"].value


@pytest.mark.shared_data
@pytest.mark.parametrize(("name", "patches", "white", "black", "density", "hull"), MATTE)
def test_matte_charts(
    shared_data: Path,
    name: str,
    patches: int,
    white: tuple[float, ...],
    black: float,
    density: float,
    hull: float,
) -> None:
    comparison = _compare(shared_data / "inkjet-matte" / f"{name}.txt")
    assert name[-2:] in comparison.condition
    _check(comparison, patches, white, black, density, hull)


@pytest.mark.shared_data
@pytest.mark.parametrize(("name", "patches", "white", "black", "density", "hull"), CONDITIONS)
def test_standard_conditions(
    shared_data: Path,
    name: str,
    patches: int,
    white: tuple[float, ...],
    black: float,
    density: float,
    hull: float,
) -> None:
    comparison = _compare(shared_data / "standard-conditions" / f"{name}.txt")
    _check(comparison, patches, white, black, density, hull)
    detail = comparison.candidates[0].finding("black_l")
    assert detail is not None
    # The darkest is a four-ink black, not black ink alone: it is found, not assumed.
    assert "K100" in detail.detail
    assert "C0 M0 Y0" not in detail.detail


@pytest.mark.shared_data
@pytest.mark.parametrize("chart", ["2033", "3190"])
def test_brightener_from_paired_conditions(shared_data: Path, chart: str) -> None:
    folder = shared_data / "inkjet-matte"
    files = [
        MeasurementFile("matte", f"chart-{chart}-{m}.txt", folder / f"chart-{chart}-{m}.txt")
        for m in ("M0", "M2")
    ]
    comparison = compare_media(files)
    assert len(comparison.candidates[0].sheets) == 1
    shift = comparison.candidates[0].finding("brightener_db")
    assert shift is not None
    assert 5.87 <= round(shift.value, 2) <= 5.93


@pytest.mark.shared_data
def test_two_charts_of_one_paper_have_no_winner(shared_data: Path) -> None:
    folder = shared_data / "inkjet-matte"
    comparison = _compare(folder / "chart-2033-M0.txt", folder / "chart-3190-M0.txt")
    assert comparison.differences
    assert {d.call for d in comparison.differences} <= {"same", "cannot_tell"}


@pytest.mark.shared_data
def test_unlike_conditions_are_refused_with_the_reason(shared_data: Path) -> None:
    folder = shared_data / "inkjet-matte"
    comparison = _compare(folder / "chart-2033-M0.txt", folder / "chart-2033-M2.txt")
    assert comparison.differences
    assert all(d.refused and "M0 against M2" in d.reason for d in comparison.differences)
