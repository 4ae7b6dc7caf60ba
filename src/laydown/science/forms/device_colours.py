"""Plain names of colours in device values: what "half grey" or "red" is for the channels of a page."""

from __future__ import annotations

from laydown.kernel.errors import BadSetting
from laydown.science.forms.page import Colour

_LIGHT = ("R", "G", "B")
_IN_LIGHT = {
    "R": (1.0, 0.0, 0.0),
    "G": (0.0, 1.0, 0.0),
    "B": (0.0, 0.0, 1.0),
    "C": (0.0, 1.0, 1.0),
    "M": (1.0, 0.0, 1.0),
    "Y": (1.0, 1.0, 0.0),
    "K": (0.0, 0.0, 0.0),
}
_IN_INK = {"R": "MY", "G": "CY", "B": "CM", "C": "C", "M": "M", "Y": "Y", "K": "K"}
#: The colours that meet each other on every page: primaries, secondaries, black.
NAMES = ("R", "G", "B", "C", "M", "Y", "K")


def bare(channels: tuple[str, ...]) -> Colour:
    """Nothing printed: full light, or no ink.

    Parameters
    ----------
    channels : names of the device values of a page

    Returns
    -------
    device values

    Checked against
    ---------------
    The unprinted ground of drawn pages.
    """
    return (1.0,) * 3 if channels == _LIGHT else (0.0,) * len(channels)


def known_names(channels: tuple[str, ...]) -> tuple[str, ...]:
    """Which of the usual colours these channels can make.

    Parameters
    ----------
    channels : names of the device values of a page

    Returns
    -------
    tuple of R, G, B, C, M, Y, K, or fewer

    Checked against
    ---------------
    RGB and CMYK make all seven, a page of black ink only black.
    """
    if channels == _LIGHT:
        return NAMES
    return tuple(name for name in NAMES if name in channels or set(_IN_INK[name]) <= set(channels))


def pure(name: str, channels: tuple[str, ...], *, strength: float = 1.0) -> Colour:
    """A primary, a secondary or black, or any share of the way to it from bare.

    In light, C is no red light and full green and blue. In ink, R is magenta and yellow unless there is an
    ink called R; K is the black ink alone, so that a fine line does not depend on how well inks register.

    Parameters
    ----------
    name : R, G, B, C, M, Y, K, or the name of an ink
    channels : names of the device values of a page
    strength : 0 (bare) to 1

    Returns
    -------
    device values

    Raises
    ------
    BadSetting
        if the channels cannot make it.

    Checked against
    ---------------
    The seven colours of RGB and CMYK written out.
    """
    if channels == _LIGHT:
        if name not in _IN_LIGHT:
            raise BadSetting(f'"{name}" is no colour of an RGB page.', todo=f"Use one of {', '.join(NAMES)}.")
        return tuple(1.0 - strength * (1.0 - value) for value in _IN_LIGHT[name])
    inks = {name} if name in channels else set(_IN_INK.get(name, "?"))
    if not inks <= set(channels):
        raise BadSetting(
            f'"{name}" cannot be made of {", ".join(channels)}.',
            todo="Use the name of an ink, or of a primary or secondary that the inks can make.",
        )
    return tuple(strength if channel in inks else 0.0 for channel in channels)


def grey(light: float, channels: tuple[str, ...]) -> Colour:
    """A neutral device value: 1 is bare, 0 is black.

    Where there is no black ink, all inks together take its place.

    Parameters
    ----------
    light : 0 to 1, as in R = G = B; in ink, 1 - light of the black ink
    channels : names of the device values of a page

    Returns
    -------
    device values

    Checked against
    ---------------
    Greys of RGB, CMYK and CMY pages written out.
    """
    if channels == _LIGHT:
        return (light,) * 3
    if "K" not in channels:
        return (1.0 - light,) * len(channels)
    return pure("K", channels, strength=1.0 - light)
