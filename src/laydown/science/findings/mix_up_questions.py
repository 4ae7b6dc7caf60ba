"""A suspected mix-up as it is put to the user: what looks wrong, a question, and possible answers."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal, NamedTuple

import numpy as np

from laydown.kernel.arrays import Floats, Ints
from laydown.science.findings.reading_order import Order, OrderKind

MixUpKind = Literal["wrong_chart", "wrong_form", "form_order", "swapped_sheet", "same_readings"] | OrderKind
Act = Literal["mend", "move", "leave_out", "keep"]


class Answer(NamedTuple):
    """What may be done: an act the program knows, and the words for it."""

    act: Act
    words: str


@dataclass(frozen=True, slots=True, eq=False)
class MixUp:
    """One suspicion about one reading.

    ``as_read`` and ``mended`` are mean dE00 from what was expected, as read and after mending (or beside the
    sheets it seems to belong to); NaN where colours took no part. ``mending`` (n,) is the row of the reading
    that belongs in each place, -1 where nothing was read (see ``mend``); None where reordering does not help.
    ``rows`` are the rows or columns concerned, counted from 0. ``belongs_to`` names the medium it seems to be
    a sheet of, ``same_as`` the file it repeats. ``agree`` is the number of patches whose device values are on
    the chart.
    """

    kind: MixUpKind
    file: str
    sentence: str
    question: str
    answers: tuple[Answer, ...]
    as_read: float = float("nan")
    mended: float = float("nan")
    mending: Ints | None = None
    rows: tuple[int, ...] = ()
    belongs_to: str | None = None
    same_as: str | None = None
    agree: int | None = None

    @property
    def ratio(self) -> float:
        """How many times better it fits after mending; NaN where colours took no part."""
        return self.as_read / max(self.mended, 0.01)


KEEP = Answer("keep", "Keep it as it is")
AGAIN = Answer("leave_out", "Leave it out and read the sheet again")


def mend(values: Floats, mending: Ints) -> Floats:
    """Values of a reading in their right places.

    Parameters
    ----------
    values : (n, ...) array
        One row for each patch as read: Lab, densities, spectra.
    mending : (n,) array of int
        From a ``MixUp``.

    Returns
    -------
    (n, ...) array
        A copy; NaN in places that were never read.

    Checked against
    ---------------
    Planted slips, which it undoes, in the tests.
    """
    out = np.asarray(values, dtype=np.float64)[mending]
    out[mending < 0] = np.nan
    return out


def about_order(file: str, found: Order, *, base: str, caution: str = "") -> MixUp:
    """A sheet whose colours fit better in another order.

    Parameters
    ----------
    file : str
        Of the reading.
    found : Order
        The better order.
    base : str
        What it was set against, in words.
    caution : str
        A sentence to be added.

    Returns
    -------
    MixUp

    Checked against
    ---------------
    The words of every kind, in the tests.
    """
    slip, question, act = _order_words(found)
    lost = int(np.count_nonzero(found.source < 0))
    left = f"; {lost} patches were not read and stay empty" if lost else ""
    sentence = (
        f"{slip}. Put right, the patches concerned lie {found.mended:.1f} dE00 from {base}; as read, "
        f"{found.as_read:.1f}."
    )
    return MixUp(
        kind=found.kind,
        file=file,
        sentence=f"{sentence} {caution}".strip(),
        question=question,
        answers=(Answer("mend", f"{act}{left}"), AGAIN, KEEP),
        as_read=found.as_read,
        mended=found.mended,
        mending=found.source,
        rows=found.lines,
    )


def about_chart(
    file: str,
    *,
    patches: int,
    chart: str,
    chart_patches: int,
    agree: int | None,
    channels: tuple[str, str] | None,
) -> MixUp:
    """A reading that is not of the chart expected.

    Parameters
    ----------
    file, patches
        The reading and its number of patches.
    chart, chart_patches
        The chart expected and its number of patches.
    agree : int or None
        Patches whose device values are on the chart; None where the file has no device values.
    channels : pair of str or None
        Channels of the reading and of the chart, where they differ.

    Returns
    -------
    MixUp

    Checked against
    ---------------
    The words of each case, in the tests.
    """
    sentence = f"It has {patches} patches, {chart} has {chart_patches}"
    if channels is not None:
        sentence += f"; its device values are {channels[0]}, those of the chart {channels[1]}"
    elif agree is not None:
        sentence += f"; {agree} of them have device values of that chart"
    return MixUp(
        kind="wrong_chart",
        file=file,
        sentence=f"{sentence}.",
        question="Was another chart read, or another file chosen?",
        answers=(Answer("leave_out", "Leave it out: it is another chart"), KEEP),
        agree=agree,
    )


def about_owner(file: str, *, medium: str, other: str, own: float, there: float, siblings: int) -> MixUp:
    """A sheet that is like another medium's sheets and not like its own.

    Parameters
    ----------
    file, medium
        The reading and the medium it is filed under.
    other : str
        The medium whose sheets it is like.
    own, there : float
        Mean dE00 from the sheets of either.
    siblings : int
        Sheets it was compared with under its own medium.

    Returns
    -------
    MixUp

    Checked against
    ---------------
    Planted swaps, in the tests.
    """
    sentence = (
        f"It lies {own:.1f} dE00 from the other sheets of {medium} and {there:.1f} from those of {other}: "
        f"it looks like a sheet of {other}."
    )
    if siblings == 1:
        sentence += f" There is one other sheet of {medium} to go by; that one may be the stray."
    return MixUp(
        kind="swapped_sheet",
        file=file,
        sentence=sentence,
        question="Which medium is this sheet of? Look at its back.",
        answers=(
            Answer("move", f"It belongs to {other}"),
            Answer("keep", f"Keep it with {medium}"),
            Answer("leave_out", "Leave it out"),
        ),
        as_read=own,
        mended=there,
        belongs_to=other,
    )


def about_copy(file: str, *, same_as: str, medium: str, other: str) -> MixUp:
    """A file that repeats another number for number.

    Parameters
    ----------
    file, same_as
        The reading and the file it repeats.
    medium, other
        The media the two are filed under.

    Returns
    -------
    MixUp

    Checked against
    ---------------
    Planted copies, in the tests.
    """
    where = "" if medium == other else f" of {other}"
    answers = [Answer("leave_out", "Leave it out: it is the same reading")]
    if medium != other:
        answers.append(Answer("keep", f"Keep this one; the one of {other} is the copy"))
    else:
        answers.append(KEEP)
    return MixUp(
        kind="same_readings",
        file=file,
        sentence=(
            f"Its readings are the same, number for number, as those of {same_as}{where}. "
            "Two readings never are."
        ),
        question="Was a file saved or sent twice?",
        answers=tuple(answers),
        as_read=0.0,
        mended=0.0,
        belongs_to=None if medium == other else other,
        same_as=same_as,
    )


def _order_words(found: Order) -> tuple[str, str, str]:
    """What looks wrong, the question, and what mending does."""
    noun = "row" if found.along == "list" else found.along
    if found.kind == "upside_down":
        slip, question = "The sheet looks as if it was read upside down", "Was the sheet turned round?"
        return slip, question, "Turn the sheet round"
    if found.kind == "rows_last_to_first":
        slip = f"The {noun}s look as if they were read from last to first"
        return slip, f"Was the sheet read from the last {noun} on?", f"Put the {noun}s in their order"
    if found.kind == "patches_shifted":
        return _patch_words(found)
    return _row_words(found, noun)


def _row_words(found: Order, noun: str) -> tuple[str, str, str]:
    """The words for slips of single rows or columns."""
    named = _named(found.lines, noun)
    capital = named[:1].upper() + named[1:]
    look, was = ("looks", "Was") if len(found.lines) == 1 else ("look", "Were")
    later = f"Move the later {noun}s to their places"
    if found.kind == "reversed_rows":
        slip = f"{capital} {look} as if read backwards"
        return slip, f"{was} {named} pulled the other way?", f"Turn {named} round"
    if found.kind == "rows_exchanged":
        return f"{capital} look exchanged", f"Were {named} exchanged?", f"Exchange {named}"
    if found.kind == "row_left_out":
        slip = f"{capital} looks as if it was left out, and each later {noun} filed one too early"
        return slip, f"Was {named} left out?", later
    first, second = (line + 1 for line in found.lines)
    slip = f"{noun.capitalize()} {first} looks as if it was read twice: "
    slip += f"what is filed as {noun} {second} is {noun} {first} again"
    question = f"Was {noun} {first} read twice?"
    if np.count_nonzero(found.source < 0) == found.moved.size:
        return slip, question, f"Empty {noun} {second}"
    return f"{slip}, and each later {noun} is filed one too late", question, later


def _patch_words(found: Order) -> tuple[str, str, str]:
    """The words for a stretch of patches one place off."""
    first, last = found.lines
    forwards = bool(found.source[first] < 0)
    which, where = ("early", "on") if forwards else ("late", "back")
    slip = f"Patches {first + 1} to {last + 1} of the list look filed one too {which}"
    return slip, "Was a patch left out or read twice?", f"Move them one place {where}"


def _named(lines: Sequence[int], noun: str) -> str:
    """Such as "row 4", "rows 2, 5 and 7", "12 of the rows"."""
    numbers = [str(line + 1) for line in lines]
    if len(numbers) == 1:
        return f"{noun} {numbers[0]}"
    if len(numbers) > 8:
        return f"{len(numbers)} of the {noun}s"
    return f"{noun}s {', '.join(numbers[:-1])} and {numbers[-1]}"
