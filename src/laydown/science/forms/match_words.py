"""What was found about a measurement file, in sentences for the person who read the sheet."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from laydown.kernel.arrays import Ints
from laydown.science.forms.matched import Matched, ToldBy, line_name

_TOLD: dict[ToldBy, str] = {
    "device values": "told by its device values",
    "colours": "told by its colours alone",
    "device values and colours": "told by its device values, and its colours agree",
    "colours against device values": "told by its colours; the device values in the file say otherwise",
}
_LISTED = (
    "The file lists them in another order than any the page is read in, so its device values alone say which "
    "is which. A page of another form with the same patches would look the same: check the code on the sheet"
)


def found_words(found: Matched) -> str:
    """Say which page it is, how it was read, and what is missing, double or uncertain.

    Parameters
    ----------
    found : Matched

    Returns
    -------
    str, sentences

    Checked against
    ---------------
    The sentence of every case, in the tests.
    """
    said = [f"It is {found.page.title}, {_TOLD[found.told_by]}"]
    said.append(_LISTED if found.way is None else found.way.words)
    if found.also:
        others = " or: ".join(way.words for way in found.also[:3])
        said.append(
            f"It would fit as well had it been read otherwise ({others}), with the same device values for "
            "every reading; only the places on the sheet are uncertain"
        )
    line = "column" if found.way is not None and found.way.along == "columns" else "row"
    if found.turned:
        said.append(_capital(f"{_named(line, found.turned)} {_were(found.turned)} pulled the other way"))
    if found.moved:
        said.append(_capital(f"{_named(line, found.moved)} {_were(found.moved)} read out of turn"))
    said += _not_read(found)
    if len(found.twice):
        said.append(
            f"{_readings(found.twice)} {_were(found.twice)} of patches that were read again later; the later "
            "reading is taken"
        )
    if len(found.extra):
        verb = "belongs" if len(found.extra) == 1 else "belong"
        said.append(f"{_readings(found.extra)} {verb} nowhere on it")
    if len(found.doubtful):
        names = [found.page.names[place] for place in found.doubtful]
        verb, whose = ("is", "its") if len(names) == 1 else ("are", "theirs")
        empty = f"{_named('patch', names)} {verb} left empty: which reading is {whose} cannot be told"
        said.append(_capital(empty))
    return ". ".join(said) + "."


def change_words(found: Matched) -> str:
    """Say what mending changes against the file as it is, which gives the first reading to the first patch.

    Parameters
    ----------
    found : Matched

    Returns
    -------
    str, one sentence

    Checked against
    ---------------
    Counts of planted slips, in the tests.
    """
    there = np.flatnonzero(found.source >= 0)
    moved = int(np.count_nonzero(found.source[there] != there))
    empty = len(found.source) - len(there)
    left = len(found.extra) + len(found.twice)
    parts = []
    if moved:
        parts.append(f"{moved} of {len(there)} readings go to other patches than in the order of the file")
    if empty:
        parts.append(f"{empty} {'patch stays' if empty == 1 else 'patches stay'} empty")
    if left:
        parts.append(f"{left} {'reading is' if left == 1 else 'readings are'} left out")
    if found.told_by == "colours against device values":
        parts.append("the device values of the file are replaced by those of the page")
    if not parts:
        return "Nothing is changed."
    return _capital(_listing(parts)) + "."


def _not_read(found: Matched) -> list[str]:
    """Whole rows that were not read, and single patches."""
    page, gone = found.page, np.zeros(len(found.page), dtype=np.bool_)
    gone[found.missing] = True
    rows, single = [], []
    for row in np.unique(page.positions[:, 0]):
        line = np.flatnonzero(page.positions[:, 0] == row)
        if gone[line].all() and len(line) > 1:
            rows.append(line_name(page, "rows", int(line[0])))
        else:
            single += [page.names[place] for place in line[gone[line]]]
    said = []
    for noun, names in (("row", rows), ("patch", single)):
        if names:
            said.append(_capital(f"{_named(noun, names)} {_were(names)} not read"))
    return said


def _readings(numbers: Ints) -> str:
    """Such as "24 readings of the file (number 49 to 72)"."""
    ends = np.flatnonzero(np.diff(numbers) > 1)
    starts = np.concatenate([[0], ends + 1])
    stops = np.concatenate([ends, [len(numbers) - 1]])
    shown = [
        f"{numbers[a] + 1}" if a == b else f"{numbers[a] + 1} to {numbers[b] + 1}"
        for a, b in zip(starts, stops, strict=True)
    ]
    if len(shown) > 8:
        shown = [*shown[:8], "and more"]
    count = len(numbers)
    return f"{count} {'reading' if count == 1 else 'readings'} of the file (number {', '.join(shown)})"


def _named(noun: str, names: Sequence[str]) -> str:
    """Such as "row C", "rows C and F", "12 patches"."""
    if len(names) == 1:
        return f"{noun} {names[0]}"
    plural = f"{noun}es" if noun.endswith("ch") else f"{noun}s"
    if len(names) > 8:
        return f"{len(names)} {plural} ({names[0]} to {names[-1]})"
    return f"{plural} {_listing(names)}"


def _listing(parts: Sequence[str]) -> str:
    return parts[0] if len(parts) == 1 else f"{', '.join(parts[:-1])} and {parts[-1]}"


def _were(many: Sequence[str] | Ints) -> str:
    return "was" if len(many) == 1 else "were"


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]
