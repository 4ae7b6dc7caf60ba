"""A set of patches: which device colours are printed, what each is for, and which are printed again."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal, get_args

import numpy as np

from laydown.kernel.arrays import Bools, Floats, Ints
from laydown.kernel.errors import BadSetting

FULL_CODE = 255
RGB = ("R", "G", "B")
CMYK = ("C", "M", "Y", "K")
Role = Literal["control", "own", "surface", "neutral", "near black", "primary", "anchor"]
ROLES: tuple[Role, ...] = get_args(Role)


@dataclass(frozen=True, slots=True, eq=False)
class PatchSet:
    """n patches in the order they were chosen; where each is printed is for the layout.

    ``codes`` (n, k) are whole numbers 0-255, light for RGB and ink for everything else: a device value is
    then the same in an 8-bit file, a 16-bit file and the reference file. ``roles`` say what each patch is
    there for; a colour that serves two ends has the role it was first chosen for.
    """

    channels: tuple[str, ...]
    codes: Ints
    roles: tuple[Role, ...]

    def __post_init__(self) -> None:
        codes = np.array(self.codes, dtype=np.int64)
        if codes.ndim != 2 or codes.shape != (len(self.roles), len(self.channels)):
            raise BadSetting(
                f"{len(self.roles)} patches in {', '.join(self.channels)} cannot have codes of shape "
                f"{codes.shape}.",
                todo="Give one code per patch and channel.",
            )
        if codes.size and (codes.min() < 0 or codes.max() > FULL_CODE):
            raise BadSetting(
                f"a device value of a patch is {codes.min()} or {codes.max()}.",
                todo=f"Give whole numbers from 0 to {FULL_CODE}.",
            )
        codes.flags.writeable = False
        object.__setattr__(self, "codes", codes)

    def __len__(self) -> int:
        return len(self.roles)

    @property
    def device(self) -> Floats:
        """Device values (n, k), 0 to 1."""
        return np.asarray(self.codes / FULL_CODE)

    @property
    def ids(self) -> tuple[str, ...]:
        """A name for each patch that says its role, such as "neutral 7"."""
        count = dict.fromkeys(ROLES, 0)
        names = []
        for role in self.roles:
            count[role] += 1
            names.append(f"{role} {count[role]}")
        return tuple(names)

    @property
    def repeats(self) -> Bools:
        """Which patches show a colour that another patch of the set shows too."""
        if not len(self):
            return np.zeros(0, dtype=np.bool_)
        _, which, count = np.unique(self.codes, axis=0, return_inverse=True, return_counts=True)
        return np.asarray(count[which.reshape(-1)] > 1)

    def of_role(self, role: Role) -> Ints:
        """Rows of the patches of one role, ascending."""
        return np.flatnonzero([one == role for one in self.roles]).astype(np.int64)

    def counts(self) -> dict[Role, int]:
        """How many patches each role has; roles without any are left out."""
        return {role: self.roles.count(role) for role in ROLES if role in self.roles}


def is_light(channels: Sequence[str]) -> bool:
    """Whether device values are light (RGB: full is bare paper) and not ink.

    Parameters
    ----------
    channels : names of the channels

    Returns
    -------
    bool

    Checked against
    ---------------
    Nothing outside; it is a convention (GLOSSARY.md).
    """
    return tuple(channels) == RGB


def patches_of(codes: Ints, role: Role, *, channels: Sequence[str]) -> PatchSet:
    """A set of patches that all have one role.

    Parameters
    ----------
    codes : (n, k) whole numbers 0-255
    role : what they are for
    channels : names of the k channels

    Returns
    -------
    PatchSet

    Raises
    ------
    BadSetting
        if the codes are not of these channels, or beyond 0-255.

    Checked against
    ---------------
    Codes and roles that come back.
    """
    return PatchSet(tuple(channels), np.asarray(codes), (role,) * len(codes))


def add_new(patches: PatchSet, more: PatchSet) -> PatchSet:
    """A set and those patches of another whose colours it has not yet, each once.

    For everything but repeats, which are meant to come again; use ``add_all`` for those.

    Parameters
    ----------
    patches, more : sets of the same channels

    Returns
    -------
    PatchSet
        ``patches`` first, unchanged.

    Raises
    ------
    BadSetting
        if the channels differ.

    Checked against
    ---------------
    Sets of Python tuples.
    """
    known = {tuple(row) for row in patches.codes.tolist()}
    rows = []
    for row, code in enumerate(more.codes.tolist()):
        if tuple(code) not in known:
            known.add(tuple(code))
            rows.append(row)
    kept = PatchSet(more.channels, more.codes[rows], tuple(more.roles[row] for row in rows))
    return add_all(patches, kept)


def add_all(patches: PatchSet, more: PatchSet) -> PatchSet:
    """Two sets one after the other, colours that both have twice.

    Parameters
    ----------
    patches, more : sets of the same channels

    Returns
    -------
    PatchSet

    Raises
    ------
    BadSetting
        if the channels differ.

    Checked against
    ---------------
    Lengths and orders that must come out.
    """
    if patches.channels != more.channels:
        raise BadSetting(
            f"patches in {', '.join(more.channels)} cannot join patches in {', '.join(patches.channels)}.",
            todo="Give every colour in the channels of the form.",
        )
    return PatchSet(patches.channels, np.concatenate([patches.codes, more.codes]), patches.roles + more.roles)
