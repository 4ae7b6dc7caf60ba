"""What was found about a scan of a form, in words and as JSON."""

from __future__ import annotations

from typing import Any

from laydown.report.wording import number
from laydown.science.forms.length_error import LengthError
from laydown.science.forms.page import MM_PER_INCH
from laydown.science.forms.placing import NotPlaced
from laydown.usecases.forms.locate_scan import FoundPage


def found_words(found: FoundPage) -> tuple[str, ...]:
    """What a scan shows, sentence by sentence."""
    located = found.located
    sheet = located.identity.sheet if located.identity else ""
    sheet_words = f", sheet {sheet}" if sheet and sheet != "0" else ""
    placement = located.placement
    ppi = placement.pixels_per_mm * MM_PER_INCH
    measurable = sum(not one.doubt for one in located.regions)
    error = number(placement.error_mm, 3)
    placed = (
        f"Placed by {len(placement.marks)} of {len(found.geometry.marks)} marks. A mark left out of the "
        f"reckoning is {error} mm off, at worst but one in twenty."
    )
    told = [
        f"Form {found.geometry.form}, page {found.geometry.page}{sheet_words}, about {ppi:.0f} ppi.",
        placed,
        f"{measurable} of {len(located.regions)} elements lie where they can be measured.",
    ]
    told += length_sentences(found.length) if found.length else [found.length_missing]
    return (*told, *located.cautions)


def length_sentences(length: LengthError) -> list[str]:
    """Printed length against drawn length, both ways, with intervals at 95 %."""
    ways = (
        ("Across the feed", length.across, length.across_low, length.across_high),
        ("Along the feed", length.along, length.along_low, length.along_high),
    )
    told = [
        f"{way} lengths are {number(error, 2, signed=True)} % of what was drawn "
        f"({number(low, 2, signed=True)} to {number(high, 2, signed=True)}, 95 %, {length.n} marks, 1 sheet)."
        for way, error, low, high in ways
    ]
    return [*told, *length.cautions]


def found_json(found: FoundPage | NotPlaced) -> dict[str, Any]:
    """The same for programs: corners of each element in pixels, with how far off they may be in mm."""
    if isinstance(found, NotPlaced):
        return {"placed": False, "reason": found.reason, "todo": found.todo}
    located = found.located
    length = found.length
    return {
        "placed": True,
        "form": found.geometry.form,
        "page": found.geometry.page,
        "sheet": located.identity.sheet if located.identity else None,
        "ppi_stated": found.stated_ppi,
        "ppi_found": located.placement.pixels_per_mm * MM_PER_INCH,
        "marks_used": list(located.placement.marks),
        "error_mm": located.placement.error_mm,
        "length_error_percent": None
        if length is None
        else {
            "across": {"value": length.across, "low": length.across_low, "high": length.across_high},
            "along": {"value": length.along, "low": length.along_low, "high": length.along_high},
            "confidence": 0.95,
            "marks": length.n,
        },
        "cautions": [*located.cautions, *(length.cautions if length else [found.length_missing])],
        "elements": [
            {
                "kind": one.kind,
                "name": one.name,
                "corners_px": one.corners.tolist(),
                "error_mm": one.error_mm if one.error_mm < float("inf") else None,
                "doubt": one.doubt,
            }
            for one in located.regions
        ],
    }
