"""What a scan is to those who measure it: a size, and windows of light, however large the file is."""

from __future__ import annotations

from typing import Any, Protocol

import numpy as np
from numpy.typing import NDArray

from laydown.kernel.errors import BadSetting

_FULL = {("u", 1): 255.0, ("u", 2): 65535.0, ("f", 4): 1.0, ("f", 8): 1.0}
_BAND_PIXELS = 4_000_000  # read from the scan at a time
_MOST_CHANNELS = 4
_LEAST_RANGE = 12.0  # of 255, between dark and light: less is a blank sheet and noise


class Scan(Protocol):
    """What a scan must be able to do: say its size, and give a window. An array, or one kept in a file."""

    @property
    def shape(self) -> tuple[int, ...]:
        """Rows and columns, and channels if there are several."""
        ...

    @property
    def dtype(self) -> np.dtype[Any]:
        """8 or 16 bits unsigned, or floats from 0 to 1."""
        ...

    def __getitem__(self, window: tuple[slice, slice], /) -> NDArray[Any]:
        """Rows and columns."""
        ...


def check_scan(scan: Scan) -> None:
    """Refuse what is no scan.

    Parameters
    ----------
    scan : light is high

    Returns
    -------
    None: it can be read

    Raises
    ------
    BadSetting
        if it is no picture, has its channels before its rows, or has other than 8 or 16 bits or floats.

    Checked against
    ---------------
    One planted fault each.
    """
    if len(scan.shape) not in (2, 3) or min(scan.shape[:2]) < 1:
        raise BadSetting(
            "a scan is a picture with rows and columns.", todo="Save the scan again as a TIFF of one page."
        )
    if len(scan.shape) == 3 and not 1 <= scan.shape[2] <= _MOST_CHANNELS:
        raise BadSetting(
            f"this scan has {scan.shape[2]} values for each pixel.",
            todo="Save it as grey or RGB, with the colours of a pixel side by side.",
        )
    if (scan.dtype.kind, scan.dtype.itemsize) not in _FULL:
        raise BadSetting(
            f"a scan of type {scan.dtype} cannot be read.", todo="Save it with 8 or 16 bits a channel."
        )


def grey_window(scan: Scan, rows: slice, columns: slice) -> NDArray[np.float32]:
    """A window of a scan from 0 to 255, its channels averaged.

    Parameters
    ----------
    scan : light is high
    rows, columns : which; they end where the scan ends

    Returns
    -------
    (rows, columns)

    Checked against
    ---------------
    Scans of every depth.
    """
    window = scan[rows, columns]
    full = _FULL[window.dtype.kind, window.dtype.itemsize]
    grey = window.mean(axis=2, dtype=np.float32) if window.ndim == 3 else window.astype(np.float32)
    return np.asarray(grey * np.float32(255.0 / full))


def coarse_copy(scan: Scan, times: int) -> NDArray[np.uint8]:
    """A scan as 8 bits, each pixel the mean of ``times`` squared, from its darkest to its lightest.

    Parameters
    ----------
    scan : light is high; it is read in bands
    times : how many times coarser

    Returns
    -------
    (rows, columns); all 0 where the scan is blank

    Checked against
    ---------------
    Pages located in scans far larger than what is read at a time.
    """
    rows, columns = scan.shape[0] // times, scan.shape[1] // times
    parts: list[NDArray[np.float32]] = []
    step = max(_BAND_PIXELS // max(scan.shape[1] * times, 1), 1)
    for first in range(0, rows, step):
        last = min(first + step, rows)
        band = grey_window(scan, slice(first * times, last * times), slice(0, columns * times))
        if times > 1:
            band = band.reshape(last - first, times, columns, times).mean(axis=(1, 3), dtype=np.float32)
        parts.append(band)
    whole = np.concatenate(parts) if parts else np.zeros((1, 1), dtype=np.float32)
    return stretched(whole)


def stretched(grey: NDArray[np.float32]) -> NDArray[np.uint8]:
    """A grey picture from its darkest to its lightest, in 8 bits.

    Parameters
    ----------
    grey : (rows, columns) from 0 to 255

    Returns
    -------
    (rows, columns); all 0 where there is nothing but noise

    Checked against
    ---------------
    Dim scans of faded prints, blank sheets.
    """
    sample = grey[:: max(len(grey) // 1000, 1), :: max(grey.shape[1] // 1000, 1)]
    # Plain floats: numpy's own would make doubles of every pixel.
    dark, light = (float(one) for one in np.quantile(sample, (0.0005, 0.995))) if sample.size else (0.0, 0.0)
    if light - dark < _LEAST_RANGE:
        return np.zeros(grey.shape, dtype=np.uint8)
    wide = grey - dark
    wide *= 255.0 / (light - dark)
    return np.asarray(np.clip(wide, 0.0, 255.0, out=wide).astype(np.uint8))
