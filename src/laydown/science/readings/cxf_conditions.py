"""Conditions and wavelengths from the colour specifications of a CxF3 file, as statements for the finder."""

from __future__ import annotations

from dataclasses import dataclass

from lxml import etree

from laydown.science.readings.conditions import Statement
from laydown.science.readings.cxf_tree import child, every, line_of, local, words
from laydown.science.readings.number_tokens import parse_cell

_KEYWORDS = {
    "DeviceIllumination": "MEASUREMENT_SOURCE",
    "DeviceFilter": "FILTER",
    "DevicePolarization": "POLARIZATION",
    "Backing": "BACKING",
    "Illuminant": "ILLUMINANT",
    "Observer": "OBSERVER",
    "Model": "INSTRUMENT",
    "MeasurementType": "MEASUREMENT_TYPE",
    "GeometryChoice": "MEASUREMENT_GEOMETRY",
    "DensityStatus": "DENSITY_STATUS",
    "CustomCondition": "MEASUREMENT_CONDITION",
}
_TRUE = {"true": "yes", "false": "no"}


@dataclass(frozen=True, slots=True)
class ColourSpecification:
    """One ColorSpecification: its statements, and the wavelength axis where it gives one (NaN: not given)."""

    statements: tuple[Statement, ...] = ()
    start_nm: float = float("nan")
    increment_nm: float = float("nan")
    measured: bool = False

    @property
    def key(self) -> tuple[str, ...]:
        """What the measurement has in common with another specification of the same measurement."""
        return tuple(sorted(f"{s.keyword}={s.value}" for s in self.statements if s.keyword not in _COMPUTED))


_COMPUTED = {"ILLUMINANT", "OBSERVER", "DENSITY_STATUS"}


def read_specifications(root: etree._Element) -> dict[str, ColourSpecification]:
    """Colour specifications of a file by their id.

    Parameters
    ----------
    root : the root element.

    Returns
    -------
    Specifications by id.

    Checked against
    ---------------
    Planted files (``test_cxf.py``).
    """
    return {spec.get("Id") or "": _specification(spec) for spec in every(root, "ColorSpecification")}


def file_statements(root: etree._Element) -> list[Statement]:
    """What the file says about itself in FileInformation.

    Parameters
    ----------
    root : the root element.

    Returns
    -------
    Statements in file order.

    Checked against
    ---------------
    Planted files (``test_cxf.py``).
    """
    found = []
    for information in every(root, "FileInformation"):
        for name, keyword in (
            ("CreationDate", "CREATED"),
            ("Description", "DESCRIPTOR"),
            ("Comment", "COMMENT"),
        ):
            element = child(information, name)
            if element is not None and words(element):
                found.append(_statement(keyword, words(element), element))
    return found


def _specification(spec: etree._Element) -> ColourSpecification:
    statements: list[Statement] = []
    measurement = child(spec, "MeasurementSpec")
    for part in (child(spec, "TristimulusSpec"), measurement, child(spec, "DensitySpec")):
        if part is None:
            continue
        for element in part.iter():
            keyword = _KEYWORDS.get(local(element))
            value = _geometry(element) if keyword == "MEASUREMENT_GEOMETRY" else words(element)
            if keyword and value:
                statements.append(_statement(keyword, _TRUE.get(value.lower(), value), element))
    axis = child(measurement, "WavelengthRange")
    start = parse_cell(axis.get("StartWL", "")) if axis is not None else float("nan")
    step = parse_cell(axis.get("Increment", "")) if axis is not None else float("nan")
    return ColourSpecification(tuple(statements), start, step, measured=measurement is not None)


def _statement(keyword: str, value: str, element: etree._Element) -> Statement:
    return Statement(keyword, value, line_of(element), shown=local(element))


def _geometry(element: etree._Element) -> str:
    """Two angles as ``45:0``, else all words below the element."""
    lit = next(every(element, "IlluminationAngle"), None)
    seen = next(every(element, "MeasurementAngle"), None)
    if lit is not None and seen is not None:
        angles = parse_cell(words(lit)), parse_cell(words(seen))
        return f"{angles[0]:g}:{angles[1]:g}"
    return " ".join(text for text in map(words, element.iter()) if text)
