"""Where a gamut is large: its volume by sectors of hue."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from laydown.kernel.arrays import Floats, Ints
from laydown.kernel.constants import Constant
from laydown.kernel.errors import BadSetting
from laydown.science.gamut.mesh import checked_mesh

FIRST_SECTOR = Constant(345.0, "degrees", "puts the a* axis in the middle of a 30 degree sector", "computed")


@dataclass(frozen=True, slots=True, eq=False)
class HueSectors:
    """Volumes (..., s) of sectors of hue angle h_ab from ``start`` (s,) to ``stop`` (s,), in degrees 0-360.

    The last sector may stop at a smaller angle than it starts from, passing through 0.
    """

    start: Floats
    stop: Floats
    volume: Floats

    @property
    def names(self) -> tuple[str, ...]:
        """Sectors in words, such as "345-15 deg"."""
        return tuple(f"{a:g}-{b:g} deg" for a, b in zip(self.start, self.stop, strict=True))


def hue_sector_volumes(
    lab: Floats, triangles: Ints, *, sectors: int = 12, start: float = FIRST_SECTOR.value
) -> HueSectors:
    """Split the volume of a closed mesh among equal sectors of hue angle.

    Two gamuts of one size may be large in different places; a sector shows where. Sectors near the paper
    white hue hold little, so look at volumes, not at percentages of a small sector.

    Parameters
    ----------
    lab : (..., v, 3) L*, a*, b* of the vertices; sheets may be stacked in front
    triangles : (f, 3) vertex numbers of a closed, consistently wound mesh
    sectors : how many, 3 or more
    start : hue angle where the first begins, degrees

    Returns
    -------
    HueSectors, in Lab cubic units; they add up to ``volume``

    Raises
    ------
    BadSetting
        if the mesh is not closed or there are fewer than three sectors.
    NotEnoughData
        if a vertex that is used has no colour.

    Notes
    -----
    Exact. The field (0, a*, b*) / 2 has divergence 1 and runs along every plane through the L* axis, so the
    volume of a sector is the flux of that field through the part of the surface inside it. Triangles are
    cut at the planes. The axis is a* = b* = 0, not the paper.

    References
    ----------
    Gauss's theorem.

    Checked against
    ---------------
    ``volume`` (the sum); a ball (equal sectors); ``columns``; rotation by one sector.
    """
    if sectors < 3:
        what = f"At least three sectors of hue are needed; got {sectors}."
        raise BadSetting(what)
    vertices = checked_mesh(lab, triangles, stacked=True)
    sheets = vertices.reshape(-1, *vertices.shape[-2:])
    pieces = sheets[:, triangles].reshape(-1, 3, 3)
    sheet = np.repeat(np.arange(len(sheets)), len(triangles))
    width = 360.0 / sectors
    starts = (start + width * np.arange(sectors, dtype=np.float64)) % 360.0
    for angle in np.unique(np.round(starts % 180.0, 9)):
        pieces, sheet = _cut(pieces, sheet, np.radians(angle))
    middle = pieces.mean(axis=1)
    area = 0.5 * np.cross(pieces[:, 1] - pieces[:, 0], pieces[:, 2] - pieces[:, 0])
    flux = 0.5 * (middle[:, 1] * area[:, 1] + middle[:, 2] * area[:, 2])
    hue = np.degrees(np.arctan2(middle[:, 2], middle[:, 1]))
    sector = ((hue - start) % 360.0 / width).astype(np.int64) % sectors
    bins = np.bincount(sheet * sectors + sector, weights=flux, minlength=len(sheets) * sectors)
    signed = bins.reshape(len(sheets), sectors)
    volumes = np.where(signed.sum(axis=1, keepdims=True) < 0.0, -signed, signed)
    shape = (*vertices.shape[:-2], sectors)
    return HueSectors(start=starts, stop=(starts + width) % 360.0, volume=volumes.reshape(shape))


def _cut(pieces: Floats, sheet: Ints, angle: float) -> tuple[Floats, Ints]:
    """Triangles cut along the plane through the L* axis at a hue angle."""
    height = pieces[:, :, 2] * np.cos(angle) - pieces[:, :, 1] * np.sin(angle)
    left = height > 0.0
    count = left.sum(axis=1)
    mixed = (count > 0) & (count < 3)
    lone = np.where(count == 1, left.argmax(axis=1), (~left).argmax(axis=1))[mixed]
    turn = (lone[:, None] + np.arange(3)) % 3
    corners = np.take_along_axis(pieces[mixed], turn[:, :, None], axis=1)
    h = np.take_along_axis(height[mixed], turn, axis=1)
    a, b, c = np.moveaxis(corners, 1, 0)
    to_b = a + (h[:, 0] / (h[:, 0] - h[:, 1]))[:, None] * (b - a)
    to_c = a + (h[:, 0] / (h[:, 0] - h[:, 2]))[:, None] * (c - a)
    parts = [np.stack(part, axis=1) for part in ((a, to_b, to_c), (to_b, b, c), (to_b, c, to_c))]
    return np.concatenate([pieces[~mixed], *parts]), np.concatenate([sheet[~mixed], *[sheet[mixed]] * 3])
