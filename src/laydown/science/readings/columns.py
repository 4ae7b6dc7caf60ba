"""What the columns of a table mean: field names of every spelling sorted by device, spectrum and colour."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Literal

SpectralScale = Literal["stated 0-1", "stated percent", "not stated"]

_IDS = {
    "SAMPLEID",
    "ID",
    "PATCHID",
    "SAMPLENO",
    "SAMPLENUMBER",
    "PATCH",
    "SAMPLE",
    "NO",
    "NUMBER",
    "PATCHNO",
    "INDEX",
}
_NAMES = {"SAMPLENAME", "NAME", "PATCHNAME"}
_PLACES = {"SAMPLELOC", "LOC", "LOCATION", "SAMPLELOCATION", "POSITION", "PATCHLOC"}
_ROWS, _COLUMNS = {"ROW", "SAMPLEROW", "PATCHROW"}, {"COLUMN", "COL", "SAMPLECOLUMN", "PATCHCOLUMN"}
_DENSITIES = {
    "DRED": "red",
    "DGREEN": "green",
    "DBLUE": "blue",
    "DVIS": "visual",
    "DVISUAL": "visual",
    "DENSITYRED": "red",
    "DENSITYGREEN": "green",
    "DENSITYBLUE": "blue",
    "DENSITYVIS": "visual",
    "DENSITYVISUAL": "visual",
}
_NAMED = {
    "RGB": ("RGBR", "RGBG", "RGBB"),
    "CMYK": ("CMYKC", "CMYKM", "CMYKY", "CMYKK"),
    "CMY": ("CMYC", "CMYM", "CMYY"),
    "LAB": ("LABL", "LABA", "LABB"),
    "XYZ": ("XYZX", "XYZY", "XYZZ"),
}
_PLAIN = {
    "RGB": (("R", "G", "B"), ("RED", "GREEN", "BLUE")),
    "CMYK": (("C", "M", "Y", "K"), ("CYAN", "MAGENTA", "YELLOW", "BLACK")),
    "LAB": (
        ("L", "A", "B"),
        ("LSTAR", "ASTAR", "BSTAR"),
        ("CIEL", "CIEA", "CIEB"),
        ("CIELABL", "CIELABA", "CIELABB"),
    ),
    "XYZ": (("X", "Y", "Z"), ("CIEX", "CIEY", "CIEZ")),
}
_BAND = re.compile(r"(?:(?:NM|SPEC|SPECTRAL|REFL|WL|R)[_A-Z]*)?_?([0-9]{3,4}(?:[.,][0-9]+)?)(?:_?NM)?")
_INK = re.compile(r"([2-9]|1[0-5]|[A-F])CLR_?([0-9]{1,2})")
_DIFFERENCE = re.compile(r"(?:DELTA|DIFF)_?(?:[LABCHE]|E[0-9_]+)|D[LAB]|DE[0-9_]*")
_SHORTEST_NM, _LONGEST_BARE_NM, _LONGEST_NM = 200.0, 1100.0, 2600.0
_FEWEST_BANDS = 3


@dataclass(frozen=True, slots=True)
class ColumnMeaning:
    """Column indices by meaning; empty or None where a table has no such column.

    ``bands`` are the spectral columns and ``wavelengths_nm`` their wavelengths, unless the table carries
    wavelengths in cells: then ``band_wavelengths`` are the columns that hold them.
    """

    identity: int | None = None
    name: int | None = None
    place: int | None = None
    row_column: tuple[int, int] | None = None
    device: tuple[int, ...] = ()
    channels: tuple[str, ...] = ()
    lab: tuple[int, ...] = ()
    xyz: tuple[int, ...] = ()
    bands: tuple[int, ...] = ()
    wavelengths_nm: tuple[float, ...] = ()
    band_wavelengths: tuple[int, ...] = ()
    spectral_scale: SpectralScale = "not stated"
    densities: dict[str, int] = field(default_factory=dict)
    differences: tuple[str, ...] = ()
    repeated: tuple[str, ...] = ()

    @property
    def has_colour(self) -> bool:
        """Whether any column is a measured colour: spectrum, Lab, XYZ or density."""
        return bool(self.lab or self.xyz or self.bands or self.densities)

    @property
    def has_anything(self) -> bool:
        """Whether any column is a colour or a device value."""
        return self.has_colour or bool(self.device)


def read_columns(names: Sequence[str]) -> ColumnMeaning:
    """Sort field names by what they mean, whatever their spelling or case.

    Parameters
    ----------
    names : the field names in file order; they may repeat.

    Returns
    -------
    ColumnMeaning
        Of a name that comes twice the first is used, and ``repeated`` names it.

    Checked against
    ---------------
    Each spelling of the dialect table in ``docs/methods/readings.md``.
    """
    # "L* (D50)" and "380 nm" mean L* and 380nm.
    bare = [re.sub(r"\(.*?\)|\s", "", name.strip().strip('"')) for name in names]
    plain = [_plain(name) for name in bare]
    upper = [name.upper() for name in bare]
    first: dict[str, int] = {}
    for index, name in enumerate(plain):
        first.setdefault(name, index)
    device, channels = _device(plain, upper, first)
    bands, wavelengths, cells, scale = _spectral(plain, upper)
    lab, xyz = _group("LAB", plain, first), _group("XYZ", plain, first)
    rows, columns = _first_of(_ROWS, first), _first_of(_COLUMNS, first)
    used = {*device, *lab, *xyz}
    return ColumnMeaning(
        identity=_first_of(_IDS, first),
        name=_first_of(_NAMES, first),
        place=_first_of(_PLACES, first),
        row_column=None if rows is None or columns is None else (rows, columns),
        device=device,
        channels=channels,
        lab=lab,
        xyz=xyz,
        bands=bands,
        wavelengths_nm=wavelengths,
        band_wavelengths=cells,
        spectral_scale=scale,
        densities={_DENSITIES[name]: index for name, index in reversed(first.items()) if name in _DENSITIES},
        differences=tuple(str(name) for name, up in zip(names, upper) if _DIFFERENCE.fullmatch(up)),
        repeated=_repeated(names, plain, first, used),
    )


def looks_like_header(names: Sequence[str]) -> bool:
    """Whether a row of words can be the header row of a table of patches.

    Parameters
    ----------
    names : the words of one row.

    Returns
    -------
    Whether they name colours, device values or colour differences.

    Checked against
    ---------------
    Prose, judgement tables and header rows of measured files (``test_shared_files.py``).
    """
    meaning = read_columns(names)
    return meaning.has_anything or len(meaning.differences) >= _FEWEST_BANDS


def _plain(name: str) -> str:
    """Field name in capitals without blanks, underlines, stars and quotes: ``Sample_ID`` is ``SAMPLEID``."""
    return re.sub(r"[\s_*\"'.-]", "", name.upper()) if not _is_number(name) else name.strip()


def _is_number(name: str) -> bool:
    return re.fullmatch(r"\s*[0-9.,]+\s*", name) is not None


def _first_of(wanted: set[str], first: dict[str, int]) -> int | None:
    found = [first[name] for name in wanted if name in first]
    return min(found) if found else None


def _group(kind: str, plain: Sequence[str], first: dict[str, int]) -> tuple[int, ...]:
    """A set of columns that belong together: prefixed names anywhere, bare letters only side by side."""
    named = _NAMED[kind]
    if all(name in first for name in named):
        return tuple(first[name] for name in named)
    for letters in _PLAIN.get(kind, ()):
        for start in range(len(plain) - len(letters) + 1):
            if tuple(plain[start : start + len(letters)]) == letters:
                return tuple(range(start, start + len(letters)))
    return ()


def _device(
    plain: Sequence[str], upper: Sequence[str], first: dict[str, int]
) -> tuple[tuple[int, ...], tuple[str, ...]]:
    """Columns of device values and the names of their channels."""
    inks = [(int(match[2]), index) for index, name in enumerate(upper) if (match := _INK.fullmatch(name))]
    if inks:
        inks = sorted(dict(reversed(inks)).items())
        return tuple(index for _, index in inks), tuple(f"ink {number}" for number, _ in inks)
    for kind in ("CMYK", "RGB", "CMY"):
        found = _group(kind, plain, first)
        if found:
            return found, tuple(kind)
    return (), ()


def _spectral(
    plain: Sequence[str], upper: Sequence[str]
) -> tuple[tuple[int, ...], tuple[float, ...], tuple[int, ...], SpectralScale]:
    """Spectral columns: pairs of wavelength and value, or one column for each wavelength."""
    pairs = [
        (index, index + 1)
        for index in range(len(plain) - 1)
        if plain[index] in {"SPECTRALNM", "SPECNM"} and plain[index + 1] in {"SPECTRALDEC", "SPECTRALPCT"}
    ]
    if len(pairs) >= _FEWEST_BANDS:
        percent = all(plain[value] == "SPECTRALPCT" for _, value in pairs)
        scale: SpectralScale = "stated percent" if percent else "stated 0-1"
        return tuple(value for _, value in pairs), (), tuple(cell for cell, _ in pairs), scale
    bands: dict[float, int] = {}
    for index, name in enumerate(upper):
        match = _BAND.fullmatch(name)
        if match is None:
            continue
        wavelength = float(match[1].replace(",", "."))
        # A bare number is a wavelength only where it cannot be a year.
        longest = _LONGEST_NM if name[0].isalpha() else _LONGEST_BARE_NM
        if _SHORTEST_NM <= wavelength <= longest:
            bands.setdefault(wavelength, index)
    if len(bands) < _FEWEST_BANDS:
        return (), (), (), "not stated"
    words = [upper[index] for index in bands.values()]
    if all("PCT" in word for word in words):
        scale = "stated percent"
    else:
        scale = "stated 0-1" if all("DEC" in word for word in words) else "not stated"
    return tuple(bands.values()), tuple(bands), (), scale


def _repeated(
    names: Sequence[str], plain: Sequence[str], first: dict[str, int], used: set[int]
) -> tuple[str, ...]:
    """Names of used columns that come again later outside any group."""
    again = [
        names[index]
        for index, name in enumerate(plain)
        if first[name] != index and first[name] in used and index not in used
    ]
    return tuple(dict.fromkeys(again))
