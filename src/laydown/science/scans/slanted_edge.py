"""Sharpness from the picture of a slanted edge (e-SFR)."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from laydown.kernel.arrays import Floats
from laydown.kernel.errors import BadSetting

OVERSAMPLED = 4
_LEAST_ROWS, _LEAST_COLUMNS = 20, 16
_MOST_CORRECTION = 10.0
_LEAST_STEP = 0.02  # of full scale: fainter edges drown in noise


@dataclass(frozen=True, slots=True, eq=False)
class EdgeResponse:
    """How much contrast is left at each spatial frequency across an edge.

    ``frequencies`` (k,) in cycles per pixel along the normal of the edge, 0 to 1; ``response`` (k,), 1 at 0.
    ``angle_deg`` is the angle of the edge to the nearer axis of the picture. ``mtf50`` is the frequency at
    which half of the contrast is left, None where it never falls to half.
    """

    frequencies: Floats
    response: Floats
    angle_deg: float
    mtf50: float | None

    def at(self, frequency: float) -> float:
        """The response at a frequency, cycles per pixel."""
        return float(np.interp(frequency, self.frequencies, self.response))


def edge_response(picture: Floats) -> EdgeResponse:
    """The edge spatial frequency response of a picture of one straight, slanted edge.

    Parameters
    ----------
    picture : (rows, columns) linear in light (or reflectance, or whatever is to be called linear); the edge
        runs from top to bottom or from side to side, 2 to 10 degrees off the axis, with margins to both sides
        at least twelve times as wide as the edge is unsharp (its standard deviation)

    Returns
    -------
    EdgeResponse

    Raises
    ------
    BadSetting
        if the picture is too small, has no edge across it, or the edge lies along the pixels.

    Notes
    -----
    The steps of ISO 12233: derivative of each row, centroid under a window, straight line through the
    centroids, once more with the window about that line; all pixels gathered by their distance from the line
    into bins of a quarter pixel; derivative; window; modulus of the Fourier transform; divided by the
    response of the derivative and of nothing else. Bins without a pixel are filled from their neighbours.
    Rows are kept to whole turns of the phase, so that every bin is met equally often. The window, which the
    method asks for, takes the flanks of an unsharp edge for less than they are: the half moves up by
    0.23 (pi s / m)^2 for a standard deviation s and margins m, 0.9 % at sixteen times, 1.6 % at twelve. Bins
    of a quarter pixel take sinc(f / 4) off, 1 % at 0.3 cycles per pixel; the method leaves that in.

    References
    ----------
    ISO 12233:2014, clause 6.2 (from an excerpt); the correction for the derivative is derived, not copied,
    since the printed one is reported to hold a misprint.

    Checked against
    ---------------
    MTF50 in closed form of Gaussians with a pixel, within 1 % from 2 to 10 degrees with margins of twenty
    times; edges drawn by coverage; two published example pictures with published results.
    """
    pixels = np.asarray(picture, dtype=np.float64)
    if pixels.ndim != 2 or min(pixels.shape) < _LEAST_COLUMNS or max(pixels.shape) < _LEAST_ROWS:
        raise BadSetting(
            f"a picture of an edge needs at least {_LEAST_ROWS} x {_LEAST_COLUMNS} pixels in one channel.",
            todo="Cut a larger region.",
        )
    if not np.isfinite(pixels).all():
        raise BadSetting("there are pixels without a value.", todo="Cut a region inside the scan.")
    pixels = _upright(pixels)
    slope, middle = _edge_line(pixels)
    rows = _whole_turns(len(pixels), slope)
    first = (len(pixels) - rows) // 2
    return _response(pixels[first : first + rows], slope, middle + slope * first)


def _upright(pixels: Floats) -> Floats:
    """Turned so that the edge runs from top to bottom, and the lighter side is on the right."""
    across = np.abs(pixels[:, -3:].mean() - pixels[:, :3].mean())
    down = np.abs(pixels[-3:].mean() - pixels[:3].mean())
    upright = pixels if across >= down else pixels.T
    step = upright[:, -3:].mean() - upright[:, :3].mean()
    span = np.ptp(pixels) or 1.0
    if abs(step) < _LEAST_STEP * max(span, np.abs(pixels).max(), 1e-9):
        raise BadSetting("no edge runs across this region.", todo="Check where the region lies.")
    return upright if step > 0 else upright[:, ::-1]


def _derivative(profile: Floats) -> Floats:
    """With the taps -1/2, 0, 1/2; the ends repeat their neighbour, so that no step is made there."""
    slope = np.empty_like(profile)
    slope[..., 1:-1] = (profile[..., 2:] - profile[..., :-2]) / 2.0
    slope[..., 0], slope[..., -1] = slope[..., 1], slope[..., -2]
    return slope


def _hamming(at: Floats, *, middle: Floats, half: float) -> Floats:
    away = np.clip(np.abs(at - middle) / half, 0.0, 1.0)
    return np.where(away < 1.0, 0.54 + 0.46 * np.cos(np.pi * away), 0.0)


def _edge_line(pixels: Floats) -> tuple[float, float]:
    """Slope (columns per row) and place in the first row of the edge."""
    rows, columns = pixels.shape
    at = np.arange(columns, dtype=np.float64)
    slopes = _derivative(pixels)
    middle = np.full((rows, 1), (columns - 1) / 2.0)
    number = np.arange(rows, dtype=np.float64)
    slope, place = 0.0, 0.0
    for _ in range(3):
        weights = slopes * _hamming(at[None], middle=middle, half=columns / 2.0)
        total = weights.sum(axis=1)
        good = total > 0.1 * np.median(total)
        if np.median(total) <= 0.0 or good.sum() < rows * 0.8:
            raise BadSetting(
                "the edge cannot be followed from row to row.", todo="Cut a region with one edge."
            )
        centre = (weights * at).sum(axis=1)[good] / total[good]
        slope, place = np.polyfit(number[good], centre, 1)
        middle = (place + slope * number)[:, None]
    return float(slope), float(place)


def _whole_turns(rows: int, slope: float) -> int:
    if abs(slope) * rows < 1.0:
        raise BadSetting(
            "the edge lies too nearly along the pixels: it does not cross one whole pixel.",
            todo="Scan it turned by about 5 degrees, or cut a longer region.",
        )
    turns = int(np.floor(rows * abs(slope)))
    return min(rows, round(turns / abs(slope)))


def _response(pixels: Floats, slope: float, place: float) -> EdgeResponse:
    rows, columns = pixels.shape
    cosine = 1.0 / np.hypot(1.0, slope)
    edge = place + slope * np.arange(rows)
    # Distance along a row; made the distance along the normal when the frequencies are said.
    distance = np.arange(columns)[None] - edge[:, None]
    half = int(np.floor(min(edge.min(), columns - 1 - edge.max())))
    if half < 4:
        raise BadSetting("the edge is too near the border of the region.", todo="Cut it with clear margins.")
    bins = np.floor(distance * OVERSAMPLED + 0.5).astype(np.int64) + half * OVERSAMPLED
    size = 2 * half * OVERSAMPLED + 1
    inside = (bins >= 0) & (bins < size)
    count = np.bincount(bins[inside], minlength=size)
    total = np.bincount(bins[inside], weights=pixels[inside], minlength=size)
    met = count > 0
    spread = np.interp(np.arange(size), np.flatnonzero(met), total[met] / count[met])
    line = _derivative(spread)
    peak = float(np.sum(np.arange(size) * np.abs(line)) / np.sum(np.abs(line)))
    line = line * _hamming(np.arange(size, dtype=np.float64), middle=np.array(peak), half=size / 2.0)
    modulus = np.abs(np.fft.rfft(line))
    along_row = np.fft.rfftfreq(size, d=1.0 / OVERSAMPLED)
    keep = along_row <= 1.0
    turn = 2.0 * np.pi * along_row / OVERSAMPLED
    with np.errstate(invalid="ignore", divide="ignore"):
        correction = np.where(turn == 0.0, 1.0, np.minimum(turn / np.sin(turn), _MOST_CORRECTION))
    response = (modulus / modulus[0] * correction)[keep]
    frequencies = along_row[keep] / cosine
    return EdgeResponse(
        frequencies,
        response,
        float(np.degrees(np.arctan(abs(slope)))),
        _falls_to(0.5, frequencies, response),
    )


def _falls_to(level: float, frequencies: Floats, response: Floats) -> float | None:
    below = np.flatnonzero(response < level)
    if not len(below):
        return None
    after = int(below[0])
    low, high = response[after], response[after - 1]
    share = (high - level) / (high - low)
    return float(frequencies[after - 1] + share * (frequencies[after] - frequencies[after - 1]))
