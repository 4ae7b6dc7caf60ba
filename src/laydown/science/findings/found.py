"""What a finding is before anything is said about its spread: one value per sheet, and words about it."""

from __future__ import annotations

from dataclasses import dataclass

from laydown.kernel.arrays import Floats


@dataclass(frozen=True, slots=True, eq=False)
class Found:
    """Values (s,) of one metric on the sheets of one medium, NaN where a sheet does not give it.

    ``detail`` says something a reader wants beside the number (which patch), ``note`` what limits it.
    ``of_medium`` marks a number that belongs to the medium as a whole and not to each sheet; it then stands
    in every element. ``basis`` says what the number was got from where that may differ between files:
    numbers of unlike basis are not compared.
    """

    values: Floats
    detail: str = ""
    note: str = ""
    of_medium: bool = False
    basis: str = ""
