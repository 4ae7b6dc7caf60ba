"""How much of each gamut lies in every other, and in spaces and print conditions with a definition."""

from __future__ import annotations

from collections.abc import Mapping
from itertools import combinations, product

from laydown.science.gamut import columns, overlap, reference_bodies, signed_volume
from laydown.usecases.comparison import GamutBody, Overlap


def reference_gamuts() -> dict[str, GamutBody]:
    """sRGB, Adobe RGB (1998) and standard print conditions, computed from their definitions."""
    return {
        name: GamutBody(vertices, triangles, "definition", abs(float(signed_volume(vertices, triangles))))
        for name, (vertices, triangles) in reference_bodies().items()
    }


def overlap_gamuts(
    bodies: Mapping[str, GamutBody], references: Mapping[str, GamutBody], *, conditions: Mapping[str, str]
) -> tuple[Overlap, ...]:
    """Overlap of every candidate with every other candidate and with every reference.

    Candidates under unlike conditions are not set against each other; ``conditions`` says which each has.
    """
    cut = {name: columns(body.vertices, body.triangles) for name, body in {**references, **bodies}.items()}
    found: list[Overlap] = []
    for a, b in combinations(bodies, 2):
        if conditions[a] == conditions[b]:
            met = overlap(cut[a], cut[b])
            found += [
                Overlap(a, b, met.shared, met.a, met.b, met.coverage_of_b, conditions[a]),
                Overlap(b, a, met.shared, met.b, met.a, met.coverage_of_a, conditions[b]),
            ]
    for name, reference in product(bodies, references):
        met = overlap(cut[name], cut[reference])
        found.append(Overlap(name, reference, met.shared, met.a, met.b, met.coverage_of_b, conditions[name]))
    return tuple(found)
