"""Spends a number of patches on a question."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Literal

import numpy as np

from laydown.kernel.arrays import Ints
from laydown.kernel.errors import BadSetting
from laydown.science.forms.control_strip import control_strip
from laydown.science.forms.patch_ramps import near_black_patches, neutral_patches, primary_patches
from laydown.science.forms.patch_set import (
    CMYK,
    FULL_CODE,
    RGB,
    PatchSet,
    Role,
    add_all,
    add_new,
    is_light,
    patches_of,
)
from laydown.science.forms.patch_surfaces import surface_patches

Question = Literal["everything", "gamut", "tone", "evenness"]

# Share of the patches left after strip, own colours and solids, in the order they are spent; what one role
# cannot use the next may. The neutral ramp takes what is left then, up to so many steps; repeats the rest.
# Our own choice; what it costs and brings is tabled in docs/methods/patch-sets.md.
_SHARES: Mapping[Question, Mapping[Role, float]] = {
    "everything": {"anchor": 0.05, "surface": 0.80, "near black": 0.07},
    "gamut": {"surface": 1.0},
    "tone": {"anchor": 0.06, "surface": 0.30, "near black": 0.14, "primary": 0.25},
    "evenness": {"anchor": 0.50, "surface": 0.40},
}
_MOST_NEUTRALS: Mapping[Question, int] = {"everything": 41, "gamut": 33, "tone": 65, "evenness": 33}
_FINEST: Mapping[Role, int] = {"surface": 33, "primary": 33, "near black": 4}
_CORNERS = 2


def choose_patches(
    count: int,
    *,
    channels: Sequence[str] = RGB,
    question: Question = "everything",
    own: Ints | None = None,
) -> PatchSet:
    """The patches of a form, as many as asked for.

    The control strip comes first and always whole, then the studio's own colours; the rest goes to what the
    question needs. Forms of one trial must be of one choice: findings of different sets are not comparable.

    Parameters
    ----------
    count : how many patches in all
    channels : names of the channels
    question : "everything"; "gamut" (all that is left on the surface); "tone" (ramps and near black);
        "evenness" (repeats, to see how alike the places of a sheet are)
    own : (m, k) codes 0-255 of the studio's own critical colours

    Returns
    -------
    PatchSet of exactly ``count`` patches

    Raises
    ------
    BadSetting
        if the count is too small for the control strip, the own colours and the solid colours.

    Notes
    -----
    Every role takes the finest of its lists that its share pays for. Colours that are there already are not
    printed again, but for the anchors: bare paper, middle grey, black and a light tint.

    Checked against
    ---------------
    The count for every size; the foretold precision of each question, ``benchmarks/compare_patch_sets.py``.
    """
    names = tuple(channels)
    patches = control_strip(channels=names)
    if own is not None and len(own):
        patches = add_new(patches, patches_of(own, "own", channels=names))
    corners = add_new(patches, surface_patches(_CORNERS, channels=names))
    if count < len(corners):
        raise BadSetting(
            f"{count} patches are too few: the control strip, your own colours and the solid colours are "
            f"{len(corners)}.",
            todo="Ask for more patches, or for a smaller patch size.",
        )
    chosen = _spend(corners, count, question)
    if question != "evenness":
        # A finer surface is worth more than further repeats; often what was left over pays for one.
        for levels in range(3, _FINEST["surface"] + 1):
            tried = _spend(corners, count, question, surface=levels)
            if len(tried) > count:
                break
            chosen = tried if _gains_surface(tried, chosen) else chosen
    return add_all(chosen, _anchors(count - len(chosen), names))


def _gains_surface(tried: PatchSet, chosen: PatchSet) -> bool:
    """More on the surface, and no fewer greys or repeats."""
    before, after = chosen.counts(), tried.counts()
    same = all(after.get(role, 0) >= before.get(role, 0) for role in ("neutral", "anchor"))
    return same and after.get("surface", 0) > before.get("surface", 0)


def _spend(corners: PatchSet, count: int, question: Question, *, surface: int | None = None) -> PatchSet:
    """Every role's share spent, nothing filled up; the surface as fine as its share pays for, or as told."""
    patches, free, carried = corners, count - len(corners), 0.0
    for role, share in _SHARES[question].items():
        carried += share * free
        before = len(patches)
        if role == "surface" and surface is not None:
            patches = add_new(patches, surface_patches(surface, channels=patches.channels))
        else:
            patches = _finest(patches, role, int(carried + 1e-9))
        carried = max(carried - (len(patches) - before), 0.0)
    return _with_neutrals(patches, count - len(patches), most=_MOST_NEUTRALS[question])


def _with_neutrals(patches: PatchSet, room: int, *, most: int) -> PatchSet:
    """The set with so many more greys; each finer ramp holds the one before it."""
    there = len(neutral_patches(0, channels=patches.channels, given=patches))
    ramp = neutral_patches(min(there + room, most), channels=patches.channels, given=patches)
    return add_new(patches, ramp)


def _finest(patches: PatchSet, role: Role, room: int) -> PatchSet:
    """The set with the finest list of a role that fits."""
    names = patches.channels
    if role == "anchor":
        return add_all(patches, _anchors(room, names))
    best = patches
    for fineness in range(1 if role == "near black" else 3, _FINEST[role] + 1):
        if role == "surface":
            one = surface_patches(fineness, channels=names)
        elif role == "near black":
            one = near_black_patches(fineness, channels=names)
        else:
            one = primary_patches(fineness, channels=names, given=patches)
        tried = add_new(patches, one)
        if len(tried) - len(patches) > room:
            break
        best = tried
    return best


def _anchors(count: int, channels: tuple[str, ...]) -> PatchSet:
    """So many repeats, shared out evenly."""
    codes = anchor_codes(channels)
    return patches_of(codes[np.arange(count) % len(codes)], "anchor", channels=channels)


def anchor_codes(channels: Sequence[str]) -> Ints:
    """The colours that are printed again and again over the page.

    Parameters
    ----------
    channels : names of the channels

    Returns
    -------
    (4, k) codes: middle grey, bare paper, black, and a light tint of several inks. Inks other than CMYK: bare
    paper, all inks at half, the first ink, the last ink

    Checked against
    ---------------
    RGB anchors are in the control strip, so that they are compared with it too.
    """
    names = tuple(channels)
    if is_light(names):
        return np.array([(128,) * 3, (255,) * 3, (0,) * 3, (214, 164, 138)])
    if names == CMYK:
        return np.array([(0, 0, 0, 128), (0,) * 4, (255,) * 4, (38, 89, 102, 0)])
    k = len(names)
    first, last = np.zeros(k, dtype=np.int64), np.zeros(k, dtype=np.int64)
    first[0] = last[-1] = FULL_CODE
    return np.stack([np.zeros(k, dtype=np.int64), np.full(k, 128), first, last])
