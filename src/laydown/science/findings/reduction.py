"""Brings one table of readings to what the findings need, whatever the file gave: Lab, densities, white."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from laydown.kernel.arrays import Floats, Ints
from laydown.kernel.constants import Constant
from laydown.kernel.errors import NotEnoughData
from laydown.kernel.stated import Stated
from laydown.science.colour import densities, lab_from_reflectance, lab_from_xyz, visual_density, xyz_from_lab
from laydown.science.numeric.known_mean import known_mean
from laydown.science.readings.suspicious import suspicious_rows
from laydown.science.readings.types import Conditions, Readings

STANDARD_COLORIMETRY = "D50/2°"
DENSITIES_ONLY = "densities only"
ABOVE_PAPER = "density in the file, above the paper"
SAME_COLOUR = Constant(
    0.0016,
    "of full scale",
    "less than half an 8-bit level: rounding in a file, no other colour",
    "computed",
)
FEWEST_TO_CHECK = 20
_M_IN_NAME = re.compile(r"(?<![A-Za-z0-9])(M[0-3])(?![A-Za-z0-9])", re.IGNORECASE)


@dataclass(frozen=True, slots=True)
class Suspect:
    """A row whose colour contradicts its neighbours, and what became of it (see ``doubts``)."""

    row: int
    explanation: str
    left_out: bool = False
    fate: str = ""


@dataclass(frozen=True, slots=True, eq=False)
class Reduced:
    """One reading of one sheet under one condition.

    ``lab`` (n, 3), ``visual`` (n,) and ``status_t`` (n, 3: red, green, blue) are NaN where not to be had or
    left out; ``colorimetry`` names illuminant and observer of ``lab``; ``device`` (n, k) is None for files
    without device values. ``white`` (w,) is the mean spectrum of the unprinted patches, None where there are
    none or no spectra.
    """

    file: str
    ids: tuple[str, ...]
    lines: Ints
    positions: Ints | None
    channels: tuple[str, ...]
    device: Floats | None
    lab: Floats
    visual: Floats
    status_t: Floats
    white: Floats | None
    wavelengths_nm: Floats | None
    colorimetry: str
    visual_from: str
    conditions: Conditions
    suspects: tuple[Suspect, ...]

    @property
    def measurement(self) -> str:
        """M0-M3, or "M not stated"."""
        return self.conditions.measurement.value or "M not stated"

    @property
    def condition(self) -> str:
        """Condition, backing and colorimetry in words, as shown beside every number."""
        return condition_words(self.conditions, colorimetry=self.colorimetry)


NO_PATCHES = np.zeros((0, 3))


def without_patches(item: Reduced) -> Reduced:
    """The same reading without its patches' colours, for when only what was stated about it is asked.

    Parameters
    ----------
    item
        A reading.

    Returns
    -------
    Reduced

    Notes
    -----
    Checked against: nothing; it only leaves out.
    """
    return replace(item, lab=NO_PATCHES, visual=NO_PATCHES[:, 0], status_t=NO_PATCHES)


def condition_words(conditions: Conditions, *, colorimetry: str) -> str:
    """Measuring condition, backing and colorimetry in a line of words.

    Parameters
    ----------
    conditions
        What was stated about the readings.
    colorimetry
        Illuminant and observer, or the density filter, such as ``"D50/2°"``.

    Returns
    -------
    str
        Such as ``"M1, white backing, D50/2°"``; what nobody stated says so.

    Notes
    -----
    Checked against: nothing outside; the words are our own.
    """
    backing = conditions.backing.value
    parts = (
        conditions.measurement.value or "M not stated",
        f"{backing} backing" if backing else "backing not stated",
        colorimetry,
    )
    return ", ".join(parts)


def reduce_readings(readings: Readings, *, check_rows: bool = True) -> Reduced:
    """Lab, densities and white spectrum of one table, with suspicious rows found.

    Spectra, where present, are always computed to D50/2°; only without them is the file's own XYZ or Lab
    used, under the illuminant and observer it states. With densities alone there is no Lab. Suspicious rows
    are only marked here; what becomes of them is for ``settle_doubts``, which sees the medium's other sheets.

    Parameters
    ----------
    readings
        One table as read, n patches.
    check_rows
        Look for rows that contradict their neighbours in device space.

    Returns
    -------
    Reduced

    Raises
    ------
    NotEnoughData
        The table has neither spectra nor XYZ nor Lab, and no densities whose filter is known.

    Notes
    -----
    Checked against: reference figures of measured charts, in ``tests/reference``.
    """
    lab, colorimetry = _lab(readings)
    visual, visual_from = _visual(readings, lab)
    status_t = _status_t(readings)
    conditions = _with_name(readings.conditions, readings.file)
    suspects = _suspects(readings, lab) if check_rows else ()
    white = None
    if readings.reflectance is not None:
        doubted = {suspect.row for suspect in suspects}
        rows = _white_rows(readings, lab)
        if rows:
            white = known_mean(readings.reflectance[[row for row in rows if row not in doubted] or rows])
    return Reduced(
        file=readings.file,
        ids=readings.ids,
        lines=readings.lines,
        positions=readings.positions,
        channels=readings.channels,
        device=readings.device,
        lab=lab,
        visual=visual,
        status_t=status_t,
        white=white,
        wavelengths_nm=readings.wavelengths_nm,
        colorimetry=colorimetry,
        visual_from=visual_from,
        conditions=conditions,
        suspects=suspects,
    )


def _lab(readings: Readings) -> tuple[Floats, str]:
    if readings.reflectance is not None and readings.wavelengths_nm is not None:
        lab = lab_from_reflectance(readings.reflectance, wavelengths_nm=readings.wavelengths_nm)
        return np.array(lab), STANDARD_COLORIMETRY
    stated = _stated_colorimetry(readings.conditions)
    if readings.lab is not None:
        return np.array(readings.lab), stated
    if readings.xyz is not None and stated in (STANDARD_COLORIMETRY, _NOT_STATED):
        return np.array(lab_from_xyz(readings.xyz)), stated
    if "visual" in readings.densities or np.isfinite(_status_t(readings)).any():
        return np.full((len(readings), 3), np.nan), DENSITIES_ONLY
    if readings.densities:
        raise NotEnoughData(
            "the file holds densities alone, none of them visual, none absolute and stated to be Status T.",
            todo='State the status in the file, such as DENSITY_STATUS "T", or read the visual density too.',
            file=readings.file,
        )
    raise NotEnoughData(
        "the file has device values but no spectra, and no XYZ or Lab that can be used.",
        todo="Export the measurement again with spectral data or with D50/2° Lab.",
        file=readings.file,
    )


_NOT_STATED = "illuminant/observer not stated"


def _stated_colorimetry(conditions: Conditions) -> str:
    illuminant, observer = conditions.illuminant.value, conditions.observer.value
    if illuminant is None and observer is None:
        return _NOT_STATED
    return f"{illuminant or 'illuminant not stated'}/{observer + '°' if observer else 'observer not stated'}"


def _visual(readings: Readings, lab: Floats) -> tuple[Floats, str]:
    if readings.reflectance is not None and readings.wavelengths_nm is not None:
        return np.array(
            visual_density(readings.reflectance, wavelengths_nm=readings.wavelengths_nm)
        ), "spectra"
    if "visual" in readings.densities:
        return np.array(readings.densities["visual"]), _density_words(readings.conditions)
    luminance = readings.xyz[:, 1] if readings.xyz is not None else xyz_from_lab(lab)[:, 1]
    with np.errstate(divide="ignore", invalid="ignore"):
        return np.array(-np.log10(luminance / 100.0)), "-log10 of Y/100, no spectra"


def _density_words(conditions: Conditions) -> str:
    """What densities of a file were read above; they are absolute where nothing else is stated."""
    return ABOVE_PAPER if conditions.density_zero.value == "paper" else "density in the file"


def _status_t(readings: Readings) -> Floats:
    if readings.reflectance is not None and readings.wavelengths_nm is not None:
        by_filter = densities(readings.reflectance, wavelengths_nm=readings.wavelengths_nm, status="T")
        return np.stack([by_filter[name] for name in ("red", "green", "blue")], axis=-1)
    if (
        readings.conditions.density_status.value == "T"
        and readings.conditions.density_zero.value != "paper"
        and {"red", "green", "blue"} <= readings.densities.keys()
    ):
        return np.stack([readings.densities[name] for name in ("red", "green", "blue")], axis=-1)
    return np.full((len(readings), 3), np.nan)


def _with_name(conditions: Conditions, file: str) -> Conditions:
    """Take the M condition from the file's name where its header has none; the evidence says so."""
    if conditions.measurement.known:
        return conditions
    found = {m.upper() for m in _M_IN_NAME.findall(file.rsplit("/", 1)[-1])}
    if len(found) != 1:
        return conditions
    return replace(conditions, measurement=Stated(found.pop(), "file name"))


def _white_rows(readings: Readings, lab: Floats) -> Sequence[int]:
    """Rows of the unprinted medium, none where it was not read; without device values the lightest."""
    if readings.device is None:
        return [int(np.nanargmax(lab[:, 0]))]
    bare = 1.0 if tuple(readings.channels) == ("R", "G", "B") else 0.0
    return np.flatnonzero(np.all(np.abs(readings.device - bare) < float(SAME_COLOUR), axis=1)).tolist()


def _suspects(readings: Readings, lab: Floats) -> tuple[Suspect, ...]:
    if readings.device is None or len(readings) < FEWEST_TO_CHECK or np.isnan(lab).all():
        return ()
    found = suspicious_rows(readings.device, lab, ids=readings.ids)
    return tuple(Suspect(item.row, item.explanation) for item in found)
