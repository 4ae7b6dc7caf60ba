"""Overlap of gamuts: columns of lightness against exact mesh booleans (manifold3d) on the same pairs.

Run ``python benchmarks/bench_gamut_overlap.py``. Twelve invented media (one printing model, aims scaled) are
intersected pair by pair and with the references; printed are times, their ratio and the largest
disagreement.
"""

from __future__ import annotations

import itertools
import time
from collections.abc import Callable
from typing import TypeVar

import manifold3d
import numpy as np

from laydown.kernel.arrays import Floats, Ints
from laydown.science.gamut import (
    CRPC2,
    CRPC3,
    CRPC6,
    columns,
    overlap,
    print_condition_mesh,
    reference_bodies,
    volume,
)

Body = tuple[Floats, Ints]
T = TypeVar("T")
REPEATS = 3


def media() -> list[Body]:
    """Twelve bodies of different size and lean, none a copy of another."""
    rng = np.random.default_rng(12)
    bodies = []
    for aims in itertools.islice(itertools.cycle((CRPC2, CRPC3, CRPC6)), 12):
        vertices, triangles = print_condition_mesh(aims, cells=10)
        scale = 1.0 + 0.1 * rng.normal(size=3) * np.array([0.2, 1.0, 1.0])
        bodies.append((vertices * scale + rng.normal(size=3), triangles))
    return bodies


def solid(body: Body) -> manifold3d.Manifold:
    vertices, triangles = body
    faces = np.array(triangles, dtype=np.uint64, order="C")
    mesh = manifold3d.Mesh64(vert_properties=np.array(vertices, order="C"), tri_verts=faces)
    return manifold3d.Manifold(mesh)


def best_of(work: Callable[[], T]) -> tuple[float, T]:
    times = []
    for _ in range(REPEATS):
        start = time.perf_counter()
        result = work()
        times.append(time.perf_counter() - start)
    return min(times), result


def main() -> None:
    own = media()
    references = [reference_bodies()[name] for name in ("sRGB", "Adobe RGB (1998)")]
    bodies = [*own, *references]
    pairs = [*itertools.combinations(range(12), 2), *itertools.product(range(12), (12, 13))]

    def by_columns() -> list[float]:
        cut = [columns(*body) for body in bodies]
        return [overlap(cut[i], cut[j]).shared for i, j in pairs]

    def by_booleans() -> list[float]:
        solids = [solid(body) for body in bodies]
        return [(solids[i] ^ solids[j]).volume() for i, j in pairs]

    ours, shared = best_of(by_columns)
    theirs, exact = best_of(by_booleans)
    differences = np.array(shared) / np.array(exact) - 1.0
    own_volumes = [columns(*body).volume / float(volume(*body)) - 1.0 for body in bodies]
    counts = [len(triangles) for _, triangles in bodies]
    print(f"{len(bodies)} bodies of {min(counts)} to {max(counts)} triangles; {len(pairs)} overlaps")
    print(f"columns (cutting included): {ours * 1e3:8.1f} ms")
    print(f"mesh booleans:              {theirs * 1e3:8.1f} ms")
    print(f"ratio: {theirs / ours:.1f}")
    print(f"largest disagreement of a shared volume: {np.abs(differences).max():.2e}")
    print(f"largest disagreement of columns and signed tetrahedra: {np.abs(own_volumes).max():.2e}")


if __name__ == "__main__":
    main()
