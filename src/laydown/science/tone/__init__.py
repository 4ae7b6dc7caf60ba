"""Tone: ramps from paper to full ink, and what happens along them.

``neutral_ramp`` and ``primary_ramps`` find the patches; ``tone_reversal``, ``lost_steps`` and
``grey_balance`` judge a ramp; ``darkest`` finds the black. Definitions: ``docs/methods/tone.md``.
"""

from laydown.science.tone.blacks import Darkest, darkest
from laydown.science.tone.greys import GreyBalance, grey_balance
from laydown.science.tone.lost import TOLD_APART, LostSteps, lost_steps
from laydown.science.tone.ramps import FEWEST_STEPS, Ramp, neutral_ramp, primary_ramps
from laydown.science.tone.reversal import Reversal, tone_reversal

__all__ = [
    "FEWEST_STEPS",
    "TOLD_APART",
    "Darkest",
    "GreyBalance",
    "LostSteps",
    "Ramp",
    "Reversal",
    "darkest",
    "grey_balance",
    "lost_steps",
    "neutral_ramp",
    "primary_ramps",
    "tone_reversal",
]
