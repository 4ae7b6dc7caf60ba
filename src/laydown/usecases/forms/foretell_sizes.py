"""What forms of usual sizes would tell, so that a number of patches can be chosen."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from laydown.kernel.errors import BadSetting
from laydown.science.findings.form_design import reading_noise
from laydown.science.findings.form_precision import FormPrecision, foretell_precision
from laydown.science.forms.choose_patches import Question, choose_patches
from laydown.science.forms.form_wish import FormWish
from laydown.science.forms.reader import ReaderKind
from laydown.usecases.forms.draft_form import ROUNDS

#: Chosen here: from what a spot reader takes patiently to what a strip reader takes in a few minutes.
USUAL_SIZES = (150, 250, 400, 800, 1200)
_SEED = FormWish(code="").seed  # what is foretold of a form without a seed of its own is then the same


@dataclass(frozen=True, slots=True)
class ForetoldSize:
    """One number of patches and what it would tell; None where it cannot be foretold."""

    patches: int
    precision: FormPrecision | None


@lru_cache(maxsize=32)
def foretell_sizes(
    channels: tuple[str, ...],
    question: Question,
    kind: ReaderKind,
    *,
    sheets: int,
    ink_limit: float | None = None,
) -> tuple[ForetoldSize, ...]:
    """What each usual number of patches would tell, read from so many sheets of each medium."""
    return tuple(
        ForetoldSize(count, _foretold(count, channels, question, kind, sheets, ink_limit))
        for count in USUAL_SIZES
    )


def _foretold(
    count: int,
    channels: tuple[str, ...],
    question: Question,
    kind: ReaderKind,
    sheets: int,
    ink_limit: float | None,
) -> FormPrecision | None:
    try:
        patches = choose_patches(count, channels=channels, question=question, ink_limit=ink_limit)
        return foretell_precision(
            patches,
            rng=np.random.default_rng(_SEED),
            noise=reading_noise(kind),
            sheets=sheets,
            rounds=ROUNDS,
            ink_limit=ink_limit,
        )
    except BadSetting:  # too few for these inks, or inks that the model does not know
        return None
