"""Gamuts to hold a medium against: picture spaces and standard printing conditions."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from functools import cache, partial

from laydown.kernel.arrays import Floats, Ints
from laydown.science.gamut.print_conditions import CRPC2, CRPC3, CRPC6, print_condition_mesh
from laydown.science.gamut.rgb_spaces import ADOBE_RGB_1998, SRGB, rgb_space_mesh

Body = tuple[Floats, Ints]


class _Lazy(Mapping[str, Body]):
    """Bodies made when first asked for; their arrays are read-only, being shared."""

    def __init__(self, makers: Mapping[str, Callable[[], Body]]) -> None:
        self._makers = dict(makers)

    def __getitem__(self, name: str) -> Body:
        return _frozen(self._makers[name])

    def __iter__(self) -> Iterator[str]:
        return iter(self._makers)

    def __len__(self) -> int:
        return len(self._makers)


@cache
def _frozen(make: Callable[[], Body]) -> Body:
    vertices, triangles = make()
    vertices.setflags(write=False)
    triangles.setflags(write=False)
    return vertices, triangles


_BODIES = _Lazy(
    {
        **{space.name: partial(rgb_space_mesh, space) for space in (SRGB, ADOBE_RGB_1998)},
        **{aims.name: partial(print_condition_mesh, aims) for aims in (CRPC2, CRPC3, CRPC6)},
    }
)


def reference_bodies() -> Mapping[str, Body]:
    """Reference gamuts by name: sRGB, Adobe RGB (1998) and three ISO/PAS 15339-2 printing conditions.

    All in Lab, D50, 2 degrees, absolute to the perfect diffuser: a medium with a dim paper covers less of
    them near white. Compare them only with readings of that illuminant and observer.

    Returns
    -------
    Mapping from name to (vertices (v, 3), triangles (f, 3)), wound outward; each is computed when first
    asked for, and read-only

    Raises
    ------
    Nothing; asking for an unknown name raises KeyError.

    Notes
    -----
    RGB spaces with 16 cells per face, printing conditions with 8.

    References
    ----------
    See ``rgb_space_mesh`` and ``print_condition_mesh``.

    Checked against
    ---------------
    See there.
    """
    return _BODIES
