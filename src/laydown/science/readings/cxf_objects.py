"""Objects of a CxF3 file: what each is called, its device values, its colours and its place on the chart."""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from typing import Literal

import numpy as np
from lxml import etree

from laydown.science.readings.cxf_tree import child, children, every, line_of, local, words
from laydown.science.readings.limits import MAX_FIELDS
from laydown.science.readings.number_tokens import parse_cell

ColourKind = Literal["spectrum", "lab", "xyz", "density"]

_COLOURS: dict[str, ColourKind] = {
    "ReflectanceSpectrum": "spectrum",
    "ColorCIELab": "lab",
    "ColorCIEXYZ": "xyz",
    "ColorDensity": "density",
}
_AXES = {"lab": ("L", "A", "B"), "xyz": ("X", "Y", "Z")}
_INKS = (("Cyan", "C"), ("Magenta", "M"), ("Yellow", "Y"), ("Black", "K"))
_FILTERS = {
    "red": "red", "green": "green", "blue": "blue", "visual": "visual",
    "cyan": "red", "magenta": "green", "yellow": "blue", "black": "visual",
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Device:
    """Device values of one object: channel names, values as written, and full as stated by the format."""

    channels: tuple[str, ...]
    values: tuple[float, ...]
    full: float


@dataclass(frozen=True, slots=True)
class Colour:
    """One colour of one object: numbers by axis name or band order, and which specification it follows."""

    kind: ColourKind
    specification: str
    values: tuple[float, ...]
    axes: tuple[str, ...] = ()
    start_nm: float = float("nan")
    increment_nm: float = float("nan")
    line: int = 0


@dataclass(slots=True)
class CxfObject:
    """One Object element."""

    identity: str
    name: str
    kind: str
    line: int
    tags: dict[str, str] = field(default_factory=dict)
    device: Device | None = None
    colours: list[Colour] = field(default_factory=list)


def read_objects(root: etree._Element) -> list[CxfObject]:
    """All objects of a file, in file order.

    Parameters
    ----------
    root : the root element.

    Returns
    -------
    Objects with what they hold; numbers that cannot be read are NaN.

    Checked against
    ---------------
    Planted files (``test_cxf.py``).
    """
    return [_object(element) for element in every(root, "Object")]


def _object(element: etree._Element) -> CxfObject:
    found = CxfObject(
        identity=element.get("Id") or "",
        name=element.get("Name") or "",
        kind=element.get("ObjectType") or "",
        line=line_of(element),
    )
    for part in children(element):
        match local(part):
            case "ColorValues":
                found.colours += [colour for item in children(part) if (colour := _colour(item)) is not None]
            case "DeviceColorValues":
                for item in children(part):
                    device = _device(item)
                    if found.device is None and device is not None and np.isfinite(device.values).all():
                        found.device = device
            case "TagCollection":
                for tag in children(part, "Tag"):
                    found.tags[_plain(tag.get("Name") or "")] = (tag.get("Value") or "").strip()
            case _:
                pass
    return found


def _plain(name: str) -> str:
    return re.sub(r"[\s_-]", "", name).lower()


def _colour(element: etree._Element) -> Colour | None:
    kind = _COLOURS.get(local(element))
    if kind is None:
        return None
    specification, line = element.get("ColorSpecification") or "", line_of(element)
    if kind == "spectrum":
        pieces = words(element).split(None, int(MAX_FIELDS.value))
        return Colour(
            kind,
            specification,
            tuple(parse_cell(piece) for piece in pieces),
            start_nm=parse_cell(element.get("StartWL") or ""),
            increment_nm=parse_cell(element.get("Increment") or ""),
            line=line,
        )
    if kind == "density":
        return _density(element, specification, line)
    axes = _AXES[kind]
    return Colour(kind, specification, tuple(_number(element, axis) for axis in axes), axes, line=line)


def _number(element: etree._Element, name: str) -> float:
    """A child's number, NaN where there is none."""
    return parse_cell(words(child(element, name)))


def _density(element: etree._Element, specification: str, line: int) -> Colour | None:
    """Densities by filter name, written as children or as one value with a filter attribute."""
    found: dict[str, float] = {}
    for item in (element, *children(element)):
        name = (item.get("Filter") or item.get("DensityFilter") or local(item)).lower()
        if name in _FILTERS and words(item):
            found[_FILTERS[name]] = parse_cell(words(item))
    if not found:
        return None
    return Colour("density", specification, tuple(found.values()), tuple(found), line=line)


def _device(element: etree._Element) -> Device | None:
    """Device values of ColorRGB, ColorCMYK or ColorCMYKPlusN."""
    name = local(element)
    if name == "ColorRGB":
        full = parse_cell(element.get("MaxRange") or "255")
        return Device(("R", "G", "B"), tuple(_number(element, axis) for axis in "RGB"), full)
    if name not in {"ColorCMYK", "ColorCMYKPlusN"}:
        return None
    channels = [short for _, short in _INKS]
    values = [_number(element, long) for long, _ in _INKS]
    for spot in children(element, "SpotColor"):
        channels.append(spot.get("Name") or words(child(spot, "Name")) or f"ink {len(channels) + 1}")
        amount = spot.get("Percentage") or words(child(spot, "Percentage")) or words(spot)
        values.append(parse_cell(amount))
    return Device(tuple(channels), tuple(values), 100.0)
