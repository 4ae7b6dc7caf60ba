"""The control strip: the same patches in the same order on every form, so that lots years apart compare."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from laydown.kernel.arrays import Ints
from laydown.science.forms.ink_limit import beyond_limit
from laydown.science.forms.patch_set import CMYK, RGB, PatchSet, patches_of

# NEVER CHANGE A LIST. A strip printed today is compared with one printed from another lot in five years,
# patch by patch; a test holds each list to its hash. What is missing goes into the rest of the form.
#
# What is there, and why (our own choice):
# - bare paper first and last: the white, and whether the strip was read straight through;
# - every solid: ink amount and hue of each ink and overprint, and the corners of the gamut;
# - every solid at half: dot gain, where a change of ink or coating shows first;
# - greys, closest in the darks and lights: tone, grey balance, lost shadow steps and the last highlight;
# - dark reds, greens and blues: black generation;
# - a skin and a leaf: mixtures of all inks, where the eye is strictest.
# Light and dark alternate, so that a strip reader finds the borders without spacers. Tints of the surface are
# of half light or half ink alone, see ``patch_levels.MIDDLE_CODE``.
_RGB_STRIP = (
    (255, 255, 255),
    (0, 0, 0),
    (0, 255, 255),
    (24, 24, 24),
    (255, 0, 255),
    (232, 232, 232),
    (64, 64, 64),
    (255, 255, 0),
    (0, 0, 255),
    (208, 208, 208),
    (255, 0, 0),
    (128, 255, 255),
    (96, 96, 96),
    (0, 255, 0),
    (12, 12, 12),
    (255, 128, 255),
    (0, 128, 0),
    (255, 255, 128),
    (0, 0, 128),
    (176, 176, 176),
    (128, 0, 0),
    (128, 255, 128),
    (40, 40, 40),
    (255, 128, 128),
    (88, 128, 64),
    (244, 244, 244),
    (128, 128, 128),
    (128, 128, 255),
    (214, 164, 138),
    (255, 255, 255),
)
# The grey of three inks near 25, 50 and 75 % stands close to the balance of offset printing (from memory).
_CMYK_STRIP = (
    (0, 0, 0, 0),
    (0, 0, 0, 255),
    (255, 0, 0, 0),
    (0, 0, 0, 26),
    (0, 255, 0, 0),
    (128, 0, 0, 0),
    (0, 0, 255, 0),
    (255, 255, 0, 0),
    (0, 128, 0, 0),
    (255, 0, 255, 0),
    (0, 0, 0, 64),
    (0, 255, 255, 0),
    (0, 0, 128, 0),
    (255, 255, 255, 0),
    (64, 46, 46, 0),
    (255, 255, 255, 255),
    (128, 128, 0, 0),
    (0, 0, 0, 230),
    (0, 128, 128, 0),
    (0, 0, 0, 191),
    (38, 89, 102, 0),
    (255, 0, 0, 128),
    (128, 0, 128, 0),
    (0, 255, 0, 128),
    (128, 102, 102, 0),
    (0, 0, 255, 128),
    (153, 128, 128, 255),
    (0, 0, 0, 128),
    (191, 163, 163, 0),
    (0, 0, 0, 0),
)


def control_strip(*, channels: Sequence[str] = RGB, ink_limit: float | None = None) -> PatchSet:
    """The control strip of a set of channels.

    Keep it on every form and read it from every lot; it is no substitute for the form, which shows the whole
    gamut.

    Parameters
    ----------
    channels : names of the channels
    ink_limit : largest sum of inks, 1 for one full ink; None for none

    Returns
    -------
    PatchSet of role "control": 30 patches in RGB and in CMYK; for other inks bare paper, each ink at full, at
    half and at a quarter, and bare paper again

    Raises
    ------
    BadSetting
        for an ink limit that no form in these channels can have.

    Notes
    -----
    A patch beyond the ink limit is left bare and keeps its place and its name: two strips of unlike limits
    still compare patch by patch wherever both show one.

    Checked against
    ---------------
    The hash of each list, which never changes; neighbours that a strip reader can tell apart; strips under a
    limit, place by place.
    """
    names = tuple(channels)
    codes = _strip_codes(names)
    if ink_limit is not None:
        codes = np.where(beyond_limit(codes, ink_limit, channels=names)[:, None], 0, codes)
    return patches_of(codes, "control", channels=names)


def _strip_codes(names: tuple[str, ...]) -> Ints:
    if names == RGB:
        return np.array(_RGB_STRIP)
    if names == CMYK:
        return np.array(_CMYK_STRIP)
    each = np.eye(len(names), dtype=np.int64)
    bare = np.zeros((1, len(names)), dtype=np.int64)
    inks = np.stack([each * 255, each * 64, each * 128], axis=1).reshape(-1, len(names))
    return np.concatenate([bare, inks, bare])
