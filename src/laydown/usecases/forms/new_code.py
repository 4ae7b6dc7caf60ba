"""A code for a new form: short, read without mistake, and never met before."""

from __future__ import annotations

from collections.abc import Container
from itertools import product

import numpy as np

from laydown.kernel.errors import RefusedInput
from laydown.records.look import Look
from laydown.trials.test_form import TestForm

# One of each pair that is taken for the other: no 0 O Q, 1 I L, S, B, Z, G, U; and no A or E, so that no word
# comes out. A letter stands first, so that no program takes a code for a number.
_LETTERS = "CDFHJKMNPRTVWXY"
_SIGNS = "23456789" + _LETTERS
_LENGTH = 4
_TRIES = 100


def new_form_code(taken: Container[str], *, rng: np.random.Generator) -> str:
    """A code of four signs that is not ``taken``, such as K7D2.

    Raises
    ------
    RefusedInput
        Every code is taken.
    """
    for _ in range(_TRIES):
        signs = (_SIGNS[at] for at in rng.integers(len(_SIGNS), size=_LENGTH - 1))
        code = _LETTERS[rng.integers(len(_LETTERS))] + "".join(signs)
        if code not in taken:
            return code
    for every in product(_LETTERS, *[_SIGNS] * (_LENGTH - 1)):
        if (code := "".join(every)) not in taken:
            return code
    raise RefusedInput("every code of four signs names a form already.", todo="Type a longer code.")


def codes_taken(look: Look) -> frozenset[str]:
    """The codes of all forms of the studio, of trials in the trash too."""
    return frozenset(form.code for form in look.find(TestForm))
