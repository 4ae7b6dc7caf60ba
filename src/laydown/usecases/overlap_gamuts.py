"""How much of each gamut lies in every other, and in spaces and print conditions with a definition."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from itertools import combinations, product

from laydown.kernel.errors import NotEnoughData
from laydown.science.findings.reduction import STANDARD_COLORIMETRY
from laydown.science.gamut import Columns, columns, overlap, reference_bodies, signed_volume
from laydown.usecases.comparison import GamutBody, Overlap


def reference_gamuts() -> dict[str, GamutBody]:
    """sRGB, Adobe RGB (1998) and standard print conditions, computed from their definitions."""
    return {
        name: GamutBody(vertices, triangles, "definition", abs(float(signed_volume(vertices, triangles))))
        for name, (vertices, triangles) in reference_bodies().items()
    }


def overlap_gamuts(
    bodies: Mapping[str, GamutBody],
    references: Mapping[str, GamutBody],
    *,
    conditions: Mapping[str, str],
    refused: Collection[tuple[str, str]],
) -> tuple[Overlap, ...]:
    """Overlap of every candidate with every other candidate and with every reference.

    Candidates that may not be compared (``refused``), that were got under unlike conditions, or of which one
    is a surface and the other a hull, are not set against each other; a reference is D50/2°, so only
    candidates in that are set against it.
    """
    cut = _cut({**references, **bodies})
    found: list[Overlap] = []
    for a, b in combinations([name for name in bodies if name in cut], 2):
        unlike = conditions[a] != conditions[b] or bodies[a].bound != bodies[b].bound
        if not unlike and (a, b) not in refused and (b, a) not in refused:
            met = overlap(cut[a], cut[b])
            found += [
                Overlap(a, b, met.shared, met.a, met.b, met.coverage_of_b, conditions[a]),
                Overlap(b, a, met.shared, met.b, met.a, met.coverage_of_a, conditions[b]),
            ]
    for name, reference in product(bodies, references):
        if name in cut and conditions[name].endswith(STANDARD_COLORIMETRY):
            met = overlap(cut[name], cut[reference])
            found.append(
                Overlap(name, reference, met.shared, met.a, met.b, met.coverage_of_b, conditions[name])
            )
    return tuple(found)


def _cut(bodies: Mapping[str, GamutBody]) -> dict[str, Columns]:
    """Bodies as columns; one too small to be cut is left out."""
    cut = {}
    for name, body in bodies.items():
        try:
            cut[name] = columns(body.vertices, body.triangles)
        except NotEnoughData:
            continue
    return cut
