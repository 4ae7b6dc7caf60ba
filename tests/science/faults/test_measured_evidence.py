"""Each limit from both sides; and that a measurement moves the cause it should."""

from __future__ import annotations

import math

import pytest

from laydown.science.faults import SheetShift, measured_evidence, rank
from laydown.science.faults.measured import BLOCKED, CAST, DARK_BY, HOOK, NO_HOOK, USUAL_DMAX, WEAK_BY


def ids(**numbers):
    return [piece.id for piece in measured_evidence(**numbers)]


def shift(middle_l=0.0, chroma_ratio=1.0, grey_a=0.0, grey_b=0.0):
    return SheetShift(middle_l, chroma_ratio, grey_a, grey_b, patches=100)


CASES = [
    ({}, []),
    ({"hook_l": HOOK.value}, ["hook-found"]),
    ({"hook_l": 0.45}, []),
    ({"hook_l": NO_HOOK.value}, ["hook-none"]),
    ({"hook_l": math.nan}, []),
    ({"lost_shadow_steps": 2, "shadow_steps": 10}, ["shadows-blocked"]),
    ({"lost_shadow_steps": 1, "shadow_steps": 5}, []),
    ({"lost_shadow_steps": 2, "shadow_steps": 40}, []),
    ({"lost_shadow_steps": 0, "shadow_steps": 40}, ["shadows-open"]),
    ({"lost_shadow_steps": 3}, []),
    ({"dmax": 1.49, "sibling_dmax": [1.6, 1.6]}, ["black-weak"]),
    ({"dmax": 1.52, "sibling_dmax": [1.6, 1.6]}, ["black-usual"]),
    ({"dmax": 1.52, "sibling_dmax": [math.nan], "surface": "matte"}, ["black-usual"]),
    ({"dmax": 1.9, "surface": "gloss"}, ["black-weak"]),
    ({"dmax": 1.45, "surface": "canvas"}, ["black-usual"]),
    ({"dmax": 1.45, "surface": "coated canvas"}, ["black-weak"]),
    ({"dmax": 1.45}, []),
    ({"grey_lean": (1.2, -1.2)}, ["greys-lean"]),
    ({"grey_lean": (0.9, 0.9)}, []),
    ({"grey_lean": (0.5, 0.5)}, ["greys-straight"]),
    ({"shift": shift(-4.0, 1.0, 2.0, -1.0)}, ["shift-darker"]),
    ({"shift": shift(-4.0, 0.8)}, ["shift-darker"]),
    ({"shift": shift(-4.0)}, []),
    ({"shift": shift(5.0, 0.8)}, ["shift-paler"]),
    ({"shift": shift(0.5, 1.01, 0.3, 0.3)}, ["shift-none"]),
    ({"shift": shift(0.5, 1.01, 2.0, 0.3)}, ["shift-coloured"]),
    ({"shift": shift(2.0, 1.05, 0.3, 0.3)}, []),
    ({"shift": shift(math.nan)}, []),
    ({"shift": shift(0.2, math.nan, math.nan, math.nan)}, ["shift-none"]),
    ({"white_difference": 1.0}, ["white-other"]),
    ({"white_difference": 0.7}, []),
    ({"white_difference": 0.5}, ["white-same"]),
    ({"hook_l": 1.0, "white_difference": 0.1}, ["hook-found", "white-same"]),
]


@pytest.mark.parametrize(("numbers", "expected"), CASES)
def test_each_limit_from_both_sides(numbers, expected):
    assert ids(**numbers) == expected


def test_limits_are_what_the_words_say():
    assert BLOCKED.value == pytest.approx(20 / 128, abs=0.01)
    assert (CAST.value, WEAK_BY.value, DARK_BY.value) == (1.5, 0.1, 3.0)
    # Published survey of 2010 inks (one supplier family): gloss and satin 2.0-2.2, canvas 1.4-1.5.
    assert USUAL_DMAX["gloss"].value == 2.0
    assert USUAL_DMAX["canvas"].value == 1.4
    # 0.03 D near D 1.65: Y falls from 2.24 to 2.09, and L* = 116 (Y/100)^(1/3) - 16 by 0.75.
    fall = 116.0 * ((10**-1.65) ** (1 / 3) - (10**-1.68) ** (1 / 3))
    assert pytest.approx(fall, abs=0.06) == HOOK.value


def test_what_was_found_is_said_with_its_number():
    (hook,) = measured_evidence(hook_l=1.26)
    assert hook.words == "Full ink is 1.3 L* lighter than the darkest patch."
    assert "common practice or our judgement" in hook.source
    (lean,) = measured_evidence(grey_lean=(2.0, -2.0))
    assert lean.words == "Greys lean 2.8 C* towards magenta."
    (green,) = measured_evidence(grey_lean=(-3.0, 0.0))
    assert green.words.endswith("towards green.")
    (dark,) = measured_evidence(shift=shift(-4.0, 0.8, 2.0, 0.0))
    assert dark.words == (
        "Against good sheets, mid-tones are 4.0 L* darker, chroma is 20% lower and greys moved by 2.0 C*."
    )


@pytest.mark.parametrize(
    ("numbers", "raised", "lowered"),
    [
        ({"hook_l": 1.5}, "total-ink-too-high", None),
        ({"hook_l": 0.0}, None, "total-ink-too-high"),
        ({"lost_shadow_steps": 4, "shadow_steps": 12}, "total-ink-too-high", None),
        ({"dmax": 1.2, "surface": "matte"}, "wrong-side", None),
        ({"dmax": 1.65, "surface": "matte"}, None, "wrong-black-ink"),
        ({"grey_lean": (3.0, -2.0)}, "wrong-profile", None),
        ({"shift": shift(-5.0, 0.85, 3.0, -1.0)}, "colour-managed-twice", None),
        ({"shift": shift(4.0, 0.8)}, "ink-limit-too-low", "colour-managed-twice"),
        ({"shift": shift()}, None, "wrong-media-setting"),
        ({"shift": shift(0.0, 1.0, 3.0, 0.0)}, "printer-drift", None),
        ({"white_difference": 3.0}, "lot-changed", None),
    ],
)
def test_a_measurement_moves_the_cause_it_should(faults, numbers, raised, lowered):
    found = {c.cause.id: c for c in rank(faults, {}, evidence=measured_evidence(**numbers)).causes}
    if raised:
        assert found[raised].probability > 1.5 * found[raised].prior
    if lowered:
        assert found[lowered].probability < 0.7 * found[lowered].prior
