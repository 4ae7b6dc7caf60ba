"""How one sheet changes in the hours after printing, and from when on it no longer does."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from laydown.kernel.arrays import Floats, Ints
from laydown.kernel.constants import Constant
from laydown.kernel.errors import BadSetting, NotEnoughData
from laydown.science.colour import delta_e_2000, xyz_from_lab
from laydown.science.settling.repeatability import (
    Repeatability,
    agreement_limit,
    given_repeatability,
    planned_repeatability,
    seen_repeatability,
)
from laydown.science.settling.verdict import Settling, settle

IMMEDIATE_MINUTES = Constant(
    15.0, "minutes", "our own judgement: time to read a sheet once more", "common practice, no source"
)
IMMEDIATE_SHARE = Constant(
    0.05,
    "of the age",
    "our own judgement: a fresh print changes in minutes, an old one does not",
    "common practice, no source",
)
DENSITY_REPEATABILITY = Constant(
    0.01, "D", "two readings of one dark patch, ordinary instruments; planning value", "from memory"
)
FROM_FILE, FROM_LAB = "density in the file", "-log10 of Y/100, no densities"


@dataclass(frozen=True, slots=True, eq=False)
class Apart:
    """dE00 of every occasion (s,) from one of them; ``worst`` (s,) is the patch farthest off."""

    mean: Floats
    median: Floats
    p95: Floats
    largest: Floats
    worst: Ints


@dataclass(frozen=True, slots=True, eq=False)
class DriftCurve:
    """One sheet over time, by occasion (s,): readings taken straight after one another are averaged into one.

    ``hours`` is the age of the print, ``readings`` how many were averaged, ``patches`` (p,) the numbers of
    the patches known in every reading; distances are over these alone. ``rate`` is mean dE00 per hour since
    the occasion before (NaN for the first), noise included. ``density`` is the mean visual density of the
    patches in ``followed`` and ``density_change`` its difference from the last. ``limit`` is the mean dE00
    within which a print at rest lies from the last reading, allowing for all comparisons; a change of density
    up to ``density_limit`` means nothing.
    """

    hours: Floats
    readings: Ints
    patches: Ints
    from_last: Apart
    from_first: Apart
    rate: Floats
    followed: tuple[int, ...]
    density: Floats
    density_change: Floats
    density_from: str
    repeatability: Repeatability
    limit: Floats
    density_limit: float
    settling: Settling

    @property
    def settled_at_hours(self) -> float | None:
        """Age from which on every reading agrees with the last; None where that cannot be said (yet)."""
        return self.settling.at_hours


def drift_curve(
    hours: ArrayLike,
    lab: ArrayLike,
    *,
    repeatability: Repeatability | float | None = None,
    density: ArrayLike | None = None,
    solids: Sequence[int] | None = None,
) -> DriftCurve:
    """Follow one sheet through the hours after printing, and say from when on it is at rest.

    All readings are of one sheet under one measuring condition with one instrument. It tells nothing of
    outgassing, which goes on unseen after colour has come to rest, and nothing of other sheets or rooms.

    Parameters
    ----------
    hours : (t,) array
        Age of the print at each reading, in hours since printing, 0 or more, in any order.
    lab : (t, n, 3) array
        CIELAB of n patches, the same patches in the same order each time. NaN where not read.
    repeatability : Repeatability or float, optional
        Of the instrument; a number is the mean dE00 of two immediate readings of a sheet. Without it, it is
        estimated from readings taken straight after one another if there are any, else a planning value.
    density : (t, n) array, optional
        Visual densities. Without them density is reckoned from L*.
    solids : sequence of int, optional
        Patches whose density is followed; by default the darkest one.

    Returns
    -------
    DriftCurve
        dE00 throughout; ``settling`` says in words what was found.

    Raises
    ------
    BadSetting
        Shapes that do not fit, an age that is no number from 0, a solid that is not there.
    NotEnoughData
        No patch was read every time.

    Notes
    -----
    Readings within ``IMMEDIATE_MINUTES`` and within ``IMMEDIATE_SHARE`` of the age count as one occasion. A
    print is at rest from the earliest occasion from which on every mean dE00 from the last lies within
    ``limit``, which a print that never changes passes as a whole in 95 % of cases (``agreement_limit``,
    Bonferroni).

    Checked against
    ---------------
    Simulated exponential dry-down with known truth, ``docs/methods/settling.md``.
    """
    ages, labs = _checked(hours, lab)
    dark = None if density is None else np.asarray(density, dtype=np.float64)
    if dark is not None and dark.shape != labs.shape[:2]:
        raise BadSetting(
            f"The densities have shape {dark.shape}, the colours {labs.shape}.",
            todo="Give one density for each patch of each reading.",
        )
    order = np.argsort(ages, kind="stable")
    ages, labs = ages[order], labs[order]
    source = FROM_LAB if dark is None else FROM_FILE
    dark = _density(labs) if dark is None else dark[order]
    known = np.flatnonzero(np.isfinite(labs).all(axis=(0, 2)))
    if not known.size:
        raise NotEnoughData(
            "No patch was read every time, so that nothing can be followed.",
            todo="Read the same patches of the sheet each time.",
        )
    followed = _followed(labs, dark, known, solids)
    groups = _occasions(ages)
    when = np.array([ages[group].mean() for group in groups])
    means = np.stack([labs[group][:, known].mean(axis=0) for group in groups])
    densities = np.array([dark[group][:, followed].mean() for group in groups])
    counts = np.array([group.size for group in groups])
    used = _repeatability(repeatability, [labs[group][:, known] for group in groups])
    limit = _limits(used, counts, patches=known.size)
    from_last = _apart(means, means[-1], known)
    change = densities - densities[-1]
    return DriftCurve(
        hours=when,
        readings=counts,
        patches=known,
        from_last=from_last,
        from_first=_apart(means, means[0], known),
        rate=_rate(when, means),
        followed=tuple(int(patch) for patch in followed),
        density=densities,
        density_change=change,
        density_from=source,
        repeatability=used,
        limit=limit,
        density_limit=DENSITY_REPEATABILITY.value,
        settling=settle(
            when,
            from_last.mean,
            limit=limit,
            repeatability=used,
            patches=known.size,
            readings=counts,
            density_change=change,
            density_limit=DENSITY_REPEATABILITY.value,
        ),
    )


def _checked(hours: ArrayLike, lab: ArrayLike) -> tuple[Floats, Floats]:
    """Ages and colours as arrays, refused where they cannot be what they should."""
    ages, labs = np.asarray(hours, dtype=np.float64), np.asarray(lab, dtype=np.float64)
    if ages.ndim != 1 or labs.ndim != 3 or labs.shape[0] != ages.size or labs.shape[-1] != 3 or not ages.size:
        raise BadSetting(
            f"The ages have shape {ages.shape}, the colours {labs.shape}.",
            todo="Give one age for each reading, and L*, a*, b* for every patch of each.",
        )
    if not np.all(np.isfinite(ages) & (ages >= 0.0)):
        wrong = int(np.flatnonzero(~(np.isfinite(ages) & (ages >= 0.0)))[0])
        raise BadSetting(
            f"Reading {wrong + 1} was taken {ages[wrong]:g} hours after printing.",
            todo="Give the hours since printing, 0 or more.",
        )
    return ages, labs


def _density(labs: Floats) -> Floats:
    """Visual density from luminance, NaN where there is no colour."""
    luminance = np.maximum(xyz_from_lab(labs)[..., 1], 1e-6)
    return np.asarray(-np.log10(luminance / 100.0))


def _followed(labs: Floats, dark: Floats, known: Ints, solids: Sequence[int] | None) -> Ints:
    """Numbers of the patches whose density is followed."""
    if solids is None:
        told = known[np.isfinite(dark[:, known]).all(axis=0)]
        among = told if told.size else known
        return among[[int(np.argmin(labs[:, among, 0].mean(axis=0)))]]
    wanted = np.asarray(list(solids), dtype=np.int64)
    there = (wanted >= 0) & (wanted < labs.shape[1])
    if not wanted.size or not there.all() or not np.isfinite(dark[:, wanted[there]]).all():
        raise BadSetting(
            "A patch whose density is to be followed was not read every time, or is not on the sheet.",
            todo="Name patches by their place in the list, counted from 0, or leave them out.",
        )
    return wanted


def _occasions(ages: Floats) -> list[Ints]:
    """Numbers of the readings that were taken straight after one another, in groups."""
    groups: list[list[int]] = []
    for number, age in enumerate(ages.tolist()):
        first = float(ages[groups[-1][0]]) if groups else -np.inf
        near = age - first <= min(IMMEDIATE_MINUTES.value / 60.0, IMMEDIATE_SHARE.value * first)
        if groups and near:
            groups[-1].append(number)
        else:
            groups.append([number])
    return [np.asarray(group, dtype=np.int64) for group in groups]


def _repeatability(asked: Repeatability | float | None, groups: Sequence[Floats]) -> Repeatability:
    """What the user knows, else what re-reads show, else the planning value."""
    if isinstance(asked, Repeatability):
        return asked
    if asked is not None:
        return given_repeatability(float(asked))
    return seen_repeatability(groups) or planned_repeatability()


def _limits(used: Repeatability, counts: Ints, *, patches: int) -> Floats:
    """Mean dE00 from the last within which each occasion agrees with it."""
    last, comparisons = int(counts[-1]), max(1, counts.size - 1)
    by_count = {
        count: agreement_limit(used, patches=patches, readings=(count, last), comparisons=comparisons)
        for count in set(counts.tolist())
    }
    return np.array([by_count[count] for count in counts.tolist()])


def _apart(means: Floats, reference: Floats, known: Ints) -> Apart:
    """Distances of every occasion from a reference."""
    distance = delta_e_2000(means, np.broadcast_to(reference, means.shape))
    return Apart(
        mean=distance.mean(axis=1),
        median=np.median(distance, axis=1),
        p95=np.percentile(distance, 95.0, axis=1),
        largest=distance.max(axis=1),
        worst=known[np.argmax(distance, axis=1)],
    )


def _rate(when: Floats, means: Floats) -> Floats:
    """Mean dE00 per hour since the occasion before."""
    rate = np.full(when.size, np.nan)
    if when.size > 1:
        rate[1:] = delta_e_2000(means[:-1], means[1:]).mean(axis=1) / np.diff(when)
    return rate
