"""The colour ranges of media: volume, hues, what they share; as text and as JSON."""

from __future__ import annotations

from typing import Any

from laydown.report.json_view import to_json
from laydown.report.text_page import TextPage
from laydown.report.wording import coverage_sentence, finding_row
from laydown.usecases.comparison import Candidate, Comparison

_BOUNDS = {
    "surface": "closed surface of the chart in device space",
    "hull": "convex hull of all patches, an upper bound",
}


def gamut_text(comparison: Comparison, *, width: int = 80) -> str:
    """Every medium's volume and hue sectors, then what is shared, then problems."""
    page = TextPage(width=width, plain=True)
    page.title("Colour range")
    page.text(comparison.condition, indent=0)
    for candidate in comparison.candidates:
        _candidate(page, candidate)
        page.text("Shared", indent=2)
        for overlap in comparison.overlaps:
            if overlap.candidate == candidate.name:
                page.text(coverage_sentence(overlap), indent=4)
    if comparison.problems:
        page.heading("Problems")
        for problem in comparison.problems:
            words = f"{problem.place()}: {problem.what}" if problem.place() else problem.what
            page.text(f"{words} {problem.todo}".strip(), lead=f"{problem.severity:<8}")
    return "\n".join(text for _, text in page.lines)


def _candidate(page: TextPage, candidate: Candidate) -> None:
    page.heading(candidate.name)
    if candidate.gamut is None:
        page.text("Too few colours to enclose a volume.")
        return
    page.text(_BOUNDS.get(candidate.gamut.bound, candidate.gamut.bound))
    for finding in candidate.findings:
        if finding.family == "gamut" and finding.condition == candidate.findings[0].condition:
            row = finding_row(finding)
            page.text(
                f"{row.value} {row.interval} {row.unit}, {row.n}".replace("  ", " "),
                lead=f"{finding.label:<22}",
            )


def gamut_json(comparison: Comparison) -> dict[str, Any]:
    """The gamut part of the comparison's JSON, with each body's vertices and triangles."""
    told = to_json(comparison)
    bodies = {c.name: c.gamut for c in comparison.candidates}
    candidates = []
    for item in told["candidates"]:
        body = bodies[item["name"]]
        candidates.append(
            {
                "name": item["name"],
                "sheets": item["sheets"],
                "findings": [f for f in item["findings"] if f["id"].startswith("gamut_")],
                "bound": None if body is None else body.bound,
                "vertices_lab": None if body is None else body.vertices.tolist(),
                "triangles": None if body is None else body.triangles.tolist(),
                "slices": []
                if body is None
                else [
                    {"l": level, "outlines_ab": [outline.tolist() for outline in outlines]}
                    for level, outlines in body.slices.items()
                ],
            }
        )
    return {
        "laydown": told["laydown"],
        "condition": told["condition"],
        "candidates": candidates,
        "overlaps": told["overlaps"],
        "problems": told["problems"],
    }
