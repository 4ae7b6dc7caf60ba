"""What Laydown itself knows about a bad print, and how strongly it speaks for or against a cause."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from laydown.science.faults.packaged import packaged_faults


@dataclass(frozen=True, slots=True)
class Evidence:
    """One thing known from a record or a measurement.

    ``ratios`` gives, by cause, how many times likelier this is with the cause than without it: above 1 it
    speaks for the cause, below 1 against it; a model that has its own ratios for this ``id`` is believed
    instead. ``words`` says what was found, ``why`` why it bears on the causes, ``source`` where it was found
    and how well the rule is supported. The causes of one piece are taken as independent hints.
    """

    id: str
    words: str
    why: str
    ratios: Mapping[str, float]
    source: str


def evidence_named(known: str, words: str, *, why: str, source: str) -> Evidence:
    """A piece of evidence with the ratios that come with Laydown.

    Parameters
    ----------
    known : str
        Its id, one of those under ``"speaks"`` in the packaged strengths.
    words, why, source : str
        As in `Evidence`.

    Returns
    -------
    Evidence

    Checked against
    ---------------
    Every id that is used is packaged, and the other way about (``test_recorded_evidence.py``).
    """
    return Evidence(known, words, why, packaged_faults().speaks[known], source)
