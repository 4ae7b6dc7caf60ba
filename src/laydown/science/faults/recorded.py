"""Evidence from the record of settings: colour path, black ink, gap, cutter, nozzles, finish."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Literal

from laydown.kernel.constants import Certainty, Constant
from laydown.science.faults.evidence import Evidence, evidence_named
from laydown.science.faults.measured import Surface

BlackInk = Literal["matte", "photo"]

_PRACTICE: Certainty = "common practice, no source"
THICK = Constant(0.5, "mm", "common practice: a wider gap from here on, and for canvas", _PRACTICE)
HEAVY = Constant(300.0, "g/m2", "our judgement: heavier media are mostly as thick as that", _PRACTICE)
_RECORDED = "from the record of settings; how strongly it speaks is our judgement"


def colour_path_evidence(
    *,
    times_managed: int | None = None,
    profile_for_this_medium: bool | None = None,
    profile_for_this_setting: bool | None = None,
    profile_for_this_lot: bool | None = None,
) -> tuple[Evidence, ...]:
    """Evidence from where colours were converted and what the profile was made for.

    Parameters
    ----------
    times_managed : int or None
        How often the colours were converted for output: 1 is right.
    profile_for_this_medium, profile_for_this_setting, profile_for_this_lot : bool or None
        Whether the profile was made on this medium, with this media setting, on this lot.

    Returns
    -------
    tuple of Evidence
        Nothing for what is None.

    Checked against
    ---------------
    Each answer, and that it moves the cause it should (``test_recorded_evidence.py``).
    """
    made_for = "A profile is right for the medium, media setting and lot it was measured on."
    return (
        *_managed(times_managed),
        *_either(
            profile_for_this_medium,
            ("profile-this-medium", "The profile was made for this medium."),
            ("profile-other-medium", "The profile was made for another medium."),
            why=made_for,
        ),
        *_either(
            profile_for_this_setting,
            ("profile-this-setting", "The profile was made with this media setting."),
            ("profile-other-setting", "The profile was made with another media setting."),
            why=made_for,
        ),
        *_either(
            profile_for_this_lot,
            ("profile-this-lot", "The profile was made on this lot."),
            ("profile-other-lot", "The profile was made on another lot."),
            why=made_for,
        ),
    )


def printer_evidence(
    *,
    surface: Surface | None = None,
    black_ink: BlackInk | None = None,
    weight_g_m2: float | None = None,
    thickness_mm: float | None = None,
    gap_widened: bool | None = None,
    cutter_used: bool | None = None,
    nozzles_whole: bool | None = None,
    first_after_pause: bool | None = None,
    setting_for_this_medium: bool | None = None,
    two_way: bool | None = None,
    protected: bool | None = None,
) -> tuple[Evidence, ...]:
    """Evidence from how the printer was set and what state it was in.

    Parameters
    ----------
    surface : str or None
        Kind of surface.
    black_ink : str or None
        Black that was used.
    weight_g_m2, thickness_mm : float or None
        Of the medium.
    gap_widened : bool or None
        Whether the head gap was set wider than the automatic choice.
    cutter_used : bool or None
        Whether the printer's own cutter cut this medium.
    nozzles_whole : bool or None
        Whether the nozzle pattern of that session was whole.
    first_after_pause : bool or None
        Whether it was the first print after idle time or a head cleaning.
    setting_for_this_medium : bool or None
        Whether the media setting is that of the medium's recipe.
    two_way : bool or None
        Whether the head printed in both directions.
    protected : bool or None
        Whether canvas, or paper shown without glass, was given a protective coat.

    Returns
    -------
    tuple of Evidence
        Nothing for what is None.

    Checked against
    ---------------
    Each answer, and that it moves the cause it should (``test_recorded_evidence.py``).
    """
    canvas = surface in ("canvas", "coated canvas")
    heavy = canvas or (weight_g_m2 or 0.0) > HEAVY.value
    return (
        *_black(surface, black_ink),
        *_gap(gap_widened, thick=heavy or (thickness_mm or 0.0) > THICK.value),
        *_either(
            cutter_used if heavy else None,
            ("cutter-used", "The printer's cutter was used on canvas or a heavy medium."),
            ("cutter-not-used", "Canvas or a heavy medium was not cut by the printer's cutter."),
            why="The printer's cutter makes dust and crumbs of canvas and thick rag.",
        ),
        *_either(
            nozzles_whole,
            ("nozzles-whole", "The nozzle pattern was whole."),
            ("nozzles-not-whole", "The nozzle pattern was not whole."),
            why="A nozzle that does not fire leaves a line in every pass.",
        ),
        *_either(
            first_after_pause,
            ("first-after-pause", "It was the first print after a pause or a head cleaning."),
            ("later-than-first", "It was not the first print after a pause or a head cleaning."),
            why="Ink that has rested in the head is not what it will be a print later.",
        ),
        *_either(
            setting_for_this_medium,
            ("setting-of-recipe", "The media setting is that of the medium's recipe."),
            ("setting-not-of-recipe", "The media setting is not that of the medium's recipe."),
            why="Ink load, drying pauses, gap and black ink hang on the media setting.",
        ),
        *_either(
            two_way,
            ("two-way", "The head printed in both directions."),
            ("one-way", "The head printed in one direction only."),
            why="Two directions can only be out of line where two are printed.",
        ),
        *_either(
            protected,
            ("protected", "A protective coat was given."),
            ("not-protected", "No protective coat was given."),
            why="A coat protects folds and surface from cracks, water and rubbing.",
        ),
    )


def _managed(times: int | None) -> Iterator[Evidence]:
    why = "Colours want to be converted for output once: in the application or in the driver."
    if times is None:
        return
    if times <= 0:
        yield _piece("managed-never", "No output profile was applied.", why)
    elif times == 1:
        yield _piece("managed-once", "Colours were converted once.", why)
    else:
        yield _piece("managed-twice", f"Colours were converted {times} times.", why)


def _black(surface: Surface | None, black: BlackInk | None) -> Iterator[Evidence]:
    """Canvas may be made for photo black, and is coated after either; neither says anything then."""
    settled = surface in ("matte", "gloss") or (surface == "canvas" and black == "matte")
    if black is None or not settled:
        return
    wrong = (surface == "gloss") == (black == "matte")
    words = f"{black.capitalize()} black was laid on a {surface} surface."
    why = "Matte surfaces want matte black, glossy ones photo black."
    yield _piece("black-ink-wrong" if wrong else "black-ink-right", words, why)


def _gap(widened: bool | None, *, thick: bool) -> Iterator[Evidence]:
    why = "Thick media and canvas want the gap one step wider than the automatic choice; thin ones do not."
    if widened is None:
        return
    if thick and not widened:
        yield _piece("gap-not-widened", "The gap was not widened for a thick medium.", why)
    elif thick:
        yield _piece("gap-widened", "The gap was widened for a thick medium.", why)
    elif widened:
        yield _piece("gap-widened-for-thin", "The gap was widened for a thin medium.", why)


def _either(
    told: bool | None, if_so: tuple[str, str], if_not: tuple[str, str], *, why: str
) -> Iterator[Evidence]:
    if told is not None:
        yield _piece(*(if_so if told else if_not), why)


def _piece(known: str, words: str, why: str) -> Evidence:
    return evidence_named(known, words, why=why, source=_RECORDED)
