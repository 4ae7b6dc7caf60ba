"""Spends a number of patches on a question."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np

from laydown.kernel.arrays import Ints
from laydown.kernel.constants import Constant
from laydown.kernel.errors import BadSetting
from laydown.science.forms.control_strip import control_strip
from laydown.science.forms.ink_limit import beyond_limit, held_to_limit
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
MOST_PATCHES = Constant(
    5000, "patches", "our own judgement: more are read for hours and tell no more", "computed"
)


def choose_patches(
    count: int,
    *,
    channels: Sequence[str] = RGB,
    question: Question = "everything",
    own: Ints | None = None,
    ink_limit: float | None = None,
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
    own : (m, k) codes 0-255 of the studio's own critical colours; one given twice is printed once
    ink_limit : largest sum of inks, 1 for one full ink (3 is 300 %); no patch goes beyond it. Not for RGB

    Returns
    -------
    PatchSet of exactly ``count`` patches

    Raises
    ------
    BadSetting
        if the count is too small for the control strip, the own colours and the solid colours, or beyond
        ``MOST_PATCHES``; for own
        colours that the channels or the ink limit do not allow; for an ink limit that cannot be.

    Notes
    -----
    Every role takes the finest of its lists that its share pays for. Colours that are there already are not
    printed again, but for the anchors: bare paper, middle grey, black and a light tint. Under an ink limit
    places of the strip beyond it stay bare, and the other lists are brought back to it (``held_to_limit``).

    Checked against
    ---------------
    The count for every size; the foretold precision of each question, ``benchmarks/compare_patch_sets.py``.
    """
    names = tuple(channels)
    if count > MOST_PATCHES.value:
        raise BadSetting(
            f"{count} patches are more than a form is made of.",
            todo=f"Ask for {MOST_PATCHES.value:g} or fewer; beyond that they tell no more.",
        )
    patches = control_strip(channels=names, ink_limit=ink_limit)
    if own is not None and len(own):
        patches = add_new(patches, own_patches(own, channels=names, ink_limit=ink_limit))
    spending = _Spending(names, question, ink_limit)
    corners = add_new(patches, spending.surface(_CORNERS))
    if count < len(corners):
        raise BadSetting(
            f"{count} patches are too few: the control strip, your own colours and the solid colours are "
            f"{len(corners)}.",
            todo="Ask for more patches, or for a smaller patch size.",
        )
    chosen = spending.spend(corners, count)
    if question != "evenness":
        # A finer surface is worth more than further repeats; often what was left over pays for one.
        for levels in range(3, _FINEST["surface"] + 1):
            finer = add_new(corners, spending.surface(levels)).counts()
            if finer.get("surface", 0) <= chosen.counts().get("surface", 0):
                continue
            tried = spending.spend(corners, count, surface=levels)
            if len(tried) > count:
                break
            chosen = tried if _gains_surface(tried, chosen) else chosen
        if not spending.surface_closes:
            chosen = spending.finest(chosen, "primary", count - len(chosen))
    return add_all(chosen, spending.anchors(count - len(chosen)))


def own_patches(codes: Ints, *, channels: Sequence[str], ink_limit: float | None = None) -> PatchSet:
    """The studio's own critical colours as patches, each once.

    Parameters
    ----------
    codes : (m, k) whole numbers 0-255
    channels : names of the k channels
    ink_limit : as for ``choose_patches``

    Returns
    -------
    PatchSet of role "own"

    Raises
    ------
    BadSetting
        names the colour that is out of range, is no whole number, or takes more ink than is allowed: a
        critical colour is never altered or left out unasked.

    Checked against
    ---------------
    Colours with one planted fault each.
    """
    names = tuple(channels)
    table = np.asarray(codes)
    if table.ndim != 2 or table.shape[1] != len(names):
        raise BadSetting(
            f"your own colours cannot have codes of shape {table.shape} in {', '.join(names)}.",
            todo=f"Give {len(names)} numbers for each colour.",
        )
    wrong = ~((table >= 0) & (table <= FULL_CODE) & (table == np.floor(table))).all(axis=1)
    for number in np.flatnonzero(wrong)[:1]:
        raise BadSetting(
            f"your own colour {number + 1} ({_told(table[number])}) has a value that no patch can have.",
            todo=f"Give whole numbers from 0 to {FULL_CODE}.",
        )
    whole = table.astype(np.int64)
    if ink_limit is not None:
        for number in np.flatnonzero(beyond_limit(whole, ink_limit, channels=names))[:1]:
            raise BadSetting(
                f"your own colour {number + 1} ({_told(table[number])}) asks for "
                f"{whole[number].sum() / FULL_CODE:.0%} of ink, and the limit is {ink_limit:.0%}.",
                todo="Take it off the list, give it less ink, or raise the limit if the medium takes more.",
            )
    nothing = patches_of(whole[:0], "own", channels=names)
    return add_new(nothing, patches_of(whole, "own", channels=names))


def _told(code: Ints) -> str:
    return "/".join(f"{value:g}" for value in code.tolist())


def _gains_surface(tried: PatchSet, chosen: PatchSet) -> bool:
    """More on the surface, and no fewer greys or repeats."""
    before, after = chosen.counts(), tried.counts()
    same = all(after.get(role, 0) >= before.get(role, 0) for role in ("neutral", "anchor"))
    return same and after.get("surface", 0) > before.get("surface", 0)


@dataclass(frozen=True, slots=True)
class _Spending:
    """How patches are spent on a question; every list is held to the ink limit."""

    channels: tuple[str, ...]
    question: Question
    ink_limit: float | None

    @property
    def surface_closes(self) -> bool:
        """Whether a closed surface is known; where one is, more steps on its edges would break its grids."""
        return len(self.channels) == 3 or (self.channels == CMYK and self.ink_limit is None)

    def surface(self, levels: int) -> PatchSet:
        return held_to_limit(surface_patches(levels, channels=self.channels), self.ink_limit)

    def spend(self, corners: PatchSet, count: int, *, surface: int | None = None) -> PatchSet:
        """Every share spent, nothing filled up; the surface as fine as its share pays for, or as told."""
        patches, free, carried = corners, count - len(corners), 0.0
        for role, share in _SHARES[self.question].items():
            carried += share * free
            before = len(patches)
            if role == "surface" and surface is not None:
                patches = add_new(patches, self.surface(surface))
            else:
                patches = self.finest(patches, role, int(carried + 1e-9))
            carried = max(carried - (len(patches) - before), 0.0)
        return self._with_neutrals(patches, count - len(patches))

    def anchors(self, count: int) -> PatchSet:
        """So many repeats, shared out evenly."""
        codes = anchor_codes(self.channels, ink_limit=self.ink_limit)
        return patches_of(codes[np.arange(count) % len(codes)], "anchor", channels=self.channels)

    def _with_neutrals(self, patches: PatchSet, room: int) -> PatchSet:
        """The set with so many more greys; each finer ramp holds the one before it."""
        there = len(neutral_patches(0, channels=self.channels, given=patches))
        most = min(there + room, _MOST_NEUTRALS[self.question])
        ramp = neutral_patches(most, channels=self.channels, given=patches)
        return add_new(patches, held_to_limit(ramp, self.ink_limit))

    def finest(self, patches: PatchSet, role: Role, room: int) -> PatchSet:
        """The set with the finest list of a role that fits."""
        if role == "anchor":
            return add_all(patches, self.anchors(room))
        best, names = patches, self.channels
        for fineness in range(1 if role == "near black" else 3, _FINEST[role] + 1):
            if role == "surface":
                one = self.surface(fineness)
            elif role == "near black":
                one = held_to_limit(near_black_patches(fineness, channels=names), self.ink_limit)
            else:
                ramps = primary_patches(fineness, channels=names, given=patches)
                one = held_to_limit(ramps, self.ink_limit)
            tried = add_new(patches, one)
            if len(tried) - len(patches) > room:
                break
            best = tried
        return best


def anchor_codes(channels: Sequence[str], *, ink_limit: float | None = None) -> Ints:
    """The colours that are printed again and again over the page.

    Parameters
    ----------
    channels : names of the channels
    ink_limit : as for ``choose_patches``

    Returns
    -------
    (4, k) codes: middle grey, bare paper, black, and a light tint of several inks. Inks other than CMYK: bare
    paper, all inks at half, the first ink, the last ink. What goes beyond the ink limit is brought back to it

    Checked against
    ---------------
    RGB anchors are in the control strip, so that they are compared with it too.
    """
    names = tuple(channels)
    if is_light(names):
        return np.array([(128,) * 3, (255,) * 3, (0,) * 3, (214, 164, 138)])
    if names == CMYK:
        codes = np.array([(0, 0, 0, 128), (0,) * 4, (255,) * 4, (38, 89, 102, 0)])
    else:
        k = len(names)
        first, last = np.zeros(k, dtype=np.int64), np.zeros(k, dtype=np.int64)
        first[0] = last[-1] = FULL_CODE
        codes = np.stack([np.zeros(k, dtype=np.int64), np.full(k, 128), first, last])
    return held_to_limit(patches_of(codes, "anchor", channels=names), ink_limit).codes
