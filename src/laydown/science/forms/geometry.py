"""Where everything on a printed page is, in mm as drawn: kept beside the form and read when it comes back."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any, Final

from laydown.kernel.errors import BadSetting
from laydown.science.forms.drawing import Grid
from laydown.science.forms.page import Box, Colour, Element, Fact, Page, Shape

GEOMETRY_VERSION: Final = 1
_TODO = "Make the geometry file again from the form."
#: JSON Schema (draft 2020-12) of a geometry file.
GEOMETRY_SCHEMA: Final[Mapping[str, Any]] = {
    "$schema": "https://json-schema.org/draft/2020-12/schema",
    "title": "Geometry of a page of a test form",
    "type": "object",
    "required": ["version", "form", "page", "ppi", "width_mm", "height_mm", "channels", "elements"],
    "additionalProperties": False,
    "properties": {
        "version": {"const": GEOMETRY_VERSION},
        "form": {"type": "string"},
        "page": {"type": "string"},
        "ppi": {"type": "number", "exclusiveMinimum": 0},
        "width_mm": {"type": "number", "exclusiveMinimum": 0},
        "height_mm": {"type": "number", "exclusiveMinimum": 0},
        "channels": {"type": "array", "items": {"type": "string"}, "minItems": 1},
        "elements": {"type": "array", "items": {"$ref": "#/$defs/element"}},
    },
    "$defs": {
        "element": {
            "type": "object",
            "required": ["kind", "name", "box_mm", "facts"],
            "additionalProperties": False,
            "properties": {
                "kind": {"type": "string"},
                "name": {"type": "string"},
                "box_mm": {
                    "description": "left, top, right, bottom from the top left corner of the page",
                    "type": "array",
                    "items": {"type": "number"},
                    "minItems": 4,
                    "maxItems": 4,
                },
                "facts": {
                    "type": "object",
                    "additionalProperties": {
                        "oneOf": [
                            {"type": ["number", "string"]},
                            {"type": "array", "items": {"type": "number"}},
                        ]
                    },
                },
            },
        }
    },
}


@dataclass(frozen=True, slots=True)
class Placed:
    """An element where it was drawn. A patch has its device values among its ``facts``."""

    kind: str
    name: str
    box: Box
    facts: Mapping[str, Fact] = field(default_factory=dict)

    @property
    def device(self) -> Colour | None:
        """Device values of a patch, 0 to 1; None for everything else."""
        value = self.facts.get("device")
        return value if isinstance(value, tuple) else None


@dataclass(frozen=True, slots=True)
class PageGeometry:
    """One page of a form as it was drawn at so many pixels per inch."""

    form: str
    page: str
    ppi: float
    width_mm: float
    height_mm: float
    channels: tuple[str, ...]
    elements: tuple[Placed, ...]

    def of_kind(self, kind: str) -> tuple[Placed, ...]:
        """Its elements of one kind, in the order they were placed."""
        return tuple(one for one in self.elements if one.kind == kind)

    @property
    def patches(self) -> tuple[Placed, ...]:
        """Its patches in reading order."""
        return self.of_kind("patch")

    @property
    def marks(self) -> tuple[Placed, ...]:
        """The marks that a scan of it is located by."""
        return self.of_kind("mark")


def page_geometry(page: Page, *, form: str, ppi: float) -> PageGeometry:
    """Where everything on a page will be once it is drawn.

    Parameters
    ----------
    page : Page
    form : name of the form it belongs to
    ppi : pixels per inch it is drawn at

    Returns
    -------
    PageGeometry
        Boxes on whole pixels, as they are painted; an element with an outline in it (text, an edge, a mark)
        keeps its exact box, since outlines are drawn exactly.

    Checked against
    ---------------
    The pixels of drawn pages.
    """
    grid = Grid(ppi)
    return PageGeometry(
        form=form,
        page=page.name,
        ppi=ppi,
        width_mm=grid.mm(grid.pixel(page.width_mm)),
        height_mm=grid.mm(grid.pixel(page.height_mm)),
        channels=page.channels,
        elements=tuple(_placed(one, grid) for one in page.elements),
    )


def to_json(geometry: PageGeometry) -> str:
    """A geometry as JSON text that ``GEOMETRY_SCHEMA`` describes.

    Parameters
    ----------
    geometry : PageGeometry

    Returns
    -------
    str, one element a line; lengths to a tenth of a micrometre

    Checked against
    ---------------
    The schema, and reading back.
    """
    head = {
        "version": GEOMETRY_VERSION,
        "form": geometry.form,
        "page": geometry.page,
        "ppi": float(geometry.ppi),
        "width_mm": _rounded(geometry.width_mm),
        "height_mm": _rounded(geometry.height_mm),
        "channels": list(geometry.channels),
    }
    lines = [f'"{name}": {json.dumps(value)}' for name, value in head.items()]
    elements = ",\n".join(
        json.dumps(
            {
                "kind": one.kind,
                "name": one.name,
                "box_mm": [_rounded(side) for side in _sides(one.box)],
                "facts": {name: list(v) if isinstance(v, tuple) else v for name, v in one.facts.items()},
            }
        )
        for one in geometry.elements
    )
    return "{" + ",\n".join(lines) + ',\n"elements": [\n' + elements + "\n]}\n"


def from_json(text: str) -> PageGeometry:
    """Read a geometry back.

    Parameters
    ----------
    text : as ``to_json`` wrote it

    Returns
    -------
    PageGeometry

    Raises
    ------
    BadSetting
        if it is no geometry file, or one of a later version.

    Checked against
    ---------------
    Geometries that come back; files with each part damaged.
    """
    try:
        told = json.loads(text)
    except ValueError as failure:
        raise BadSetting("this is no geometry file: it is not JSON.", todo=_TODO) from failure
    if not isinstance(told, dict) or "version" not in told:
        raise BadSetting("this is no geometry file of a form.", todo=_TODO)
    if told["version"] != GEOMETRY_VERSION:
        raise BadSetting(
            f"this geometry file is of version {told['version']}, and only {GEOMETRY_VERSION} is known.",
            todo="Use the program that made it, or make it again.",
        )
    try:
        return PageGeometry(
            form=_text(told["form"]),
            page=_text(told["page"]),
            ppi=float(told["ppi"]),
            width_mm=float(told["width_mm"]),
            height_mm=float(told["height_mm"]),
            channels=tuple(_text(name) for name in told["channels"]),
            elements=tuple(_read_element(one, number) for number, one in enumerate(told["elements"], 1)),
        )
    except (KeyError, TypeError, ValueError) as failure:
        raise BadSetting(f"this geometry file is damaged: {failure}.", todo=_TODO) from failure


def _placed(element: Element, grid: Grid) -> Placed:
    exact = any(isinstance(paint, Shape) for paint in element.paints)
    box = element.box if exact else grid.snapped(element.box)
    return Placed(element.kind, element.name, box, dict(element.facts))


def _read_element(told: Any, number: int) -> Placed:
    try:
        left, top, right, bottom = (float(side) for side in told["box_mm"])
        facts = {_text(name): _read_fact(value) for name, value in dict(told["facts"]).items()}
        return Placed(_text(told["kind"]), _text(told["name"]), Box(left, top, right, bottom), facts)
    except (KeyError, TypeError, ValueError) as failure:
        raise ValueError(f"element {number}: {failure}") from failure


def _read_fact(value: Any) -> Fact:
    if isinstance(value, list):
        return tuple(float(part) for part in value)
    if isinstance(value, bool) or not isinstance(value, int | float | str):
        raise TypeError(f"a fact is {value!r}")
    return value


def _text(value: Any) -> str:
    if not isinstance(value, str):
        raise TypeError(f"{value!r} is not a text")
    return value


def _sides(box: Box) -> Sequence[float]:
    return box.left_mm, box.top_mm, box.right_mm, box.bottom_mm


def _rounded(length_mm: float) -> float:
    return round(length_mm, 4)
