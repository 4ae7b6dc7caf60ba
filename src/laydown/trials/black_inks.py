"""Matte or photo black: which one a medium wants, and which one somebody's words speak of."""

from __future__ import annotations

import re
from collections.abc import Mapping, Set
from types import MappingProxyType

from laydown.trials.stock import BlackInk, Medium

BLACKS: Mapping[BlackInk, Set[str]] = MappingProxyType(
    {"matte": frozenset({"matte", "matt", "mk"}), "photo": frozenset({"photo", "photographic", "pk"})}
)
# "Photo" alone says nothing in the name of a media setting: matte rags are called photo rags.
SETTINGS: Mapping[BlackInk, Set[str]] = MappingProxyType(
    {
        "matte": BLACKS["matte"],
        "photo": frozenset({"pk", "gloss", "glossy", "semigloss", "satin", "lustre", "pearl", "baryta"}),
    }
)
GLOSSY = ("satin", "gloss", "baryta")


def black_wanted(medium: Medium) -> BlackInk:
    """The black ink a medium is made for: as stated, else as its surface says; "" where neither does."""
    if medium.black_ink:
        return medium.black_ink
    if "matte" in medium.surface:
        return "matte"
    return "photo" if medium.surface in GLOSSY else ""


def black_named(told: str) -> BlackInk:
    """Matte or photo, from words such as "Matte black" or "PK"; "" where neither or both are named."""
    return _sign_in(told, BLACKS)


def black_of_setting(told: str) -> BlackInk:
    """The black ink the name of a media setting speaks of; "" where it speaks of none, or of both."""
    return _sign_in(told.casefold().replace("photo black", "pk").replace("matte black", "mk"), SETTINGS)


def _sign_in(told: str, signs: Mapping[BlackInk, Set[str]]) -> BlackInk:
    words = set(re.split(r"[^a-z]+", told.casefold()))
    found = [name for name, known in signs.items() if words & known]
    return found[0] if len(found) == 1 else ""
