"""Which blind code each sheet of a trial has for one form: worked out, so that it is never lost."""

from __future__ import annotations

import hashlib
from collections.abc import Mapping
from types import MappingProxyType

import numpy as np

from laydown.science.forms.blind_label import NUMBERED, numbered_code
from laydown.trials.facts import TrialFacts
from laydown.trials.print_order import CODE_DIGITS, CODE_LETTERS
from laydown.trials.test_form import TestForm


def blind_key(facts: TrialFacts, form: TestForm) -> Mapping[str, str]:
    """The blind code of each sheet, by its id; all pages of a sheet bear the same one.

    It follows from the trial, the form and the code of the sheet alone, so that a sheet that is added,
    spoiled or replaced never changes the code of another. A sheet whose code was not drawn here has none.
    """
    seed = int.from_bytes(hashlib.sha256(f"{facts.trial.id}/{form.code}".encode()).digest()[:8], "big")
    found = {}
    for sheet in facts.sheets:
        number = _number(sheet.code)
        if number is not None:
            found[sheet.id] = numbered_code(number, rng=np.random.Generator(np.random.PCG64(seed)))
    return MappingProxyType(found)


def _number(code: str) -> int | None:
    """The place of a sheet's code among all that can be drawn, the short ones first."""
    letter, digits = code[:1], code[1:]
    if letter not in CODE_LETTERS or not digits or not set(digits) <= set(CODE_DIGITS) or not letter:
        return None
    shorter = sum(len(CODE_LETTERS) * len(CODE_DIGITS) ** count for count in range(1, len(digits)))
    within = 0
    for digit in digits:
        within = within * len(CODE_DIGITS) + CODE_DIGITS.index(digit)
    number = shorter + CODE_LETTERS.index(letter) * len(CODE_DIGITS) ** len(digits) + within
    return number if number < NUMBERED else None
