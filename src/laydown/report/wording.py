"""How numbers, calls and names are put into words: the one place, for page, PDF, terminal and figures."""

from __future__ import annotations

import math
import re
import unicodedata
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType

from laydown.science.deciding.types import Call
from laydown.usecases.comparison import (
    CallsByFinding,
    ComparedDifference,
    Comparison,
    Finding,
    Overlap,
)

MINUS = "\u2212"
ELLIPSIS = "\u2026"

CALL_WORDS: Mapping[Call, str] = MappingProxyType(
    {
        "better": "better",
        "worse": "worse",
        "higher": "higher",
        "lower": "lower",
        "same": "same within the margin that matters",
        "cannot_tell": "cannot tell yet",
    }
)
SHORT_CALL_WORDS: Mapping[Call, str] = MappingProxyType(
    {**CALL_WORDS, "same": "same", "cannot_tell": "cannot tell"}
)

# Marks differ in shape, so that they hold up in black and white; the second is for plain ASCII.
CALL_MARKS: Mapping[Call, tuple[str, str]] = MappingProxyType(
    {
        "better": ("▲", "+"),
        "worse": ("▼", "-"),
        "higher": ("△", "^"),
        "lower": ("▽", "v"),
        "same": ("=", "="),
        "cannot_tell": ("?", "?"),
    }
)
REFUSED_MARK = ("×", "x")

_UNITS: Mapping[str, str] = MappingProxyType(
    {
        "dE00": "ΔE00",
        "dE76": "ΔE*ab",
        "Lab units cubed": "cubic Lab units",
    }
)


def display_name(text: str) -> str:
    """A name fit to be shown: control and direction characters gone, runs of space made one."""
    spaced = "".join(" " if c.isspace() else c for c in text)
    return " ".join("".join(c for c in spaced if unicodedata.category(c)[0] != "C").split())


def short_names(names: Sequence[str], characters: int) -> dict[str, str]:
    """Each name shown in at most ``characters``, still different from every other.

    Parameters
    ----------
    names
        Full names, all different.
    characters
        The most characters a short name may have; at least 6.

    Returns
    -------
    dict
        Full name to short name. A shortened name ends in an ellipsis; names that would then be the same
        carry their place in the list.
    """
    shown = {name: _cut(display_name(name), characters) for name in names}
    taken: dict[str, int] = {}
    for label in shown.values():
        taken[label] = taken.get(label, 0) + 1
    for place, name in enumerate(names, start=1):
        if taken[shown[name]] > 1:
            tail = f" ({place})"
            shown[name] = _cut(display_name(name), characters - len(tail)) + tail
    return shown


def _cut(text: str, characters: int) -> str:
    return text if len(text) <= characters else text[: characters - 1].rstrip(" ,;-") + ELLIPSIS


def number(value: float, decimals: int, *, signed: bool = False) -> str:
    """A number with fixed decimals, a true minus sign and narrow spaces between thousands; "" where NaN.

    Zero never carries a minus sign. With ``signed`` a number above zero carries a plus.
    """
    if not math.isfinite(value):
        return ""
    digits = f"{abs(value):,.{decimals}f}".replace(",", "\u202f")
    if float(f"{abs(value):.{decimals}f}") == 0:
        return digits
    if value < 0:
        return MINUS + digits
    return f"+{digits}" if signed else digits


def unit_words(unit: str) -> str:
    """The unit as it is shown: ``"dE00"`` becomes ``"ΔE00"``."""
    return _UNITS.get(unit, unit)


def symbols(text: str) -> str:
    """Running text with its colour differences written as they are in print: ``dE00`` becomes ``ΔE00``."""
    return re.sub(r"\bdE(?=00\b|76\b|\*)", "ΔE", text)


def ascii_text(text: str) -> str:
    """The same text for a terminal that has only ASCII."""
    for mark, plain in [*CALL_MARKS.values(), REFUSED_MARK]:
        if not mark.isascii():
            text = text.replace(mark, plain)
    for fancy, plain in _ASCII.items():
        text = text.replace(fancy, plain)
    return unicodedata.normalize("NFKD", text).encode("ascii", "replace").decode("ascii")


_ASCII: Mapping[str, str] = MappingProxyType(
    {
        MINUS: "-",
        "\u202f": ",",
        "±": "+/-",
        "Δ": "d",
        "°": " deg",
        "³": "^3",
        "–": "-",
        "—": "-",
        ELLIPSIS: "...",
        "×": "x",
        "“": '"',
        "”": '"',
        "‘": "'",
        "’": "'",
    }
)


@dataclass(frozen=True, slots=True)
class FindingRow:
    """One finding in words: each part ready to be set in a column.

    ``interval`` is ``"1.641 to 1.663"`` or says why there is none; ``half_width`` is ``"± 0.011"`` or
    ``"n=1"``; ``text`` is the whole as one phrase.
    """

    label: str
    value: str
    interval: str
    half_width: str
    n: str
    unit: str
    condition: str
    note: str
    text: str


def finding_row(finding: Finding) -> FindingRow:
    """A finding in words, rounded to its own decimals."""
    value = number(finding.value, finding.decimals) or "not found"
    unit = unit_words(finding.unit)
    if has_interval(finding):
        low, high = number(finding.low, finding.decimals), number(finding.high, finding.decimals)
        interval = f"{low} to {high}"
        # Measured upward: the lower end stops where the quantity does (no count is below 0).
        half = f"± {number(finding.high - finding.value, finding.decimals)}"
        text = f"{value} ({interval}) {unit}"
    elif math.isfinite(finding.value):
        interval = "no interval: one sheet" if finding.n < 2 else "no interval"
        half = f"n={finding.n}"
        text = f"{value} {unit} ({interval})"
    else:
        interval, half, text = "", f"n={finding.n}", "not found"
    return FindingRow(
        label=finding.label,
        value=value,
        interval=interval,
        half_width=half,
        n=sheets_words(finding.n),
        unit=unit,
        condition=finding.condition,
        note=" ".join(part for part in (finding.note, finding.detail) if part),
        text=text,
    )


def has_interval(item: Finding | ComparedDifference) -> bool:
    """Whether both ends of its interval are known."""
    return math.isfinite(item.low) and math.isfinite(item.high)


def sheets_words(n: int) -> str:
    """``"1 sheet"`` or ``"3 sheets"``."""
    return "1 sheet" if n == 1 else f"{n} sheets"


def difference_text(difference: ComparedDifference) -> str:
    """``"+0.766 (+0.749 to +0.783) D"``, or "" where there is no number."""
    if not math.isfinite(difference.difference):
        return ""
    value = number(difference.difference, difference.decimals, signed=True)
    unit = unit_words(difference.unit)
    if not has_interval(difference):
        return f"{value} {unit}"
    low, high = (number(v, difference.decimals, signed=True) for v in (difference.low, difference.high))
    return f"{value} ({low} to {high}) {unit}"


def margin_text(margin: float | None, decimals: int, unit: str) -> str:
    """``"± 0.050 D"``, or words where no margin is set."""
    return "no margin set" if margin is None else f"± {number(margin, decimals)} {unit_words(unit)}"


def call_word(difference: ComparedDifference, *, short: bool = False) -> str:
    """The call in plain words; a refused difference says "refused"."""
    if difference.refused:
        return "refused"
    return (SHORT_CALL_WORDS if short else CALL_WORDS)[difference.call]


def call_mark(difference: ComparedDifference, *, plain: bool = False) -> str:
    """A mark for the call that differs in shape from every other."""
    pair = REFUSED_MARK if difference.refused else CALL_MARKS[difference.call]
    return pair[plain]


def what_would_settle(difference: ComparedDifference) -> str:
    """``"about 5 sheets each would settle it"``; "" where nothing needs settling or the reason says it."""
    if difference.refused or difference.call != "cannot_tell" or "settle" in difference.reason:
        return ""
    if difference.sheets_needed is not None:
        return f"about {sheets_words(difference.sheets_needed)} each would settle it"
    return "how many sheets would settle it cannot be foretold"


def call_sentence(difference: ComparedDifference) -> str:
    """One difference as a sentence that can stand alone.

    The sign is put into words: a candidate is better, worse, higher or lower *than* the other by so much,
    the same within a margin, or not told apart yet, with what would settle it.
    """
    a, b = display_name(difference.candidate), display_name(difference.against)
    label, unit = difference.label, unit_words(difference.unit)
    if difference.refused:
        return f"{label}: {a} and {b} were not compared. {difference.reason}".strip()
    amount = number(abs(difference.difference), difference.decimals)
    spoken = difference_text(difference)
    if difference.call == "same":
        return (
            f"{label}: {a} and {b} are the same within the margin that matters "
            f"({margin_text(difference.margin, difference.decimals, difference.unit)}); difference {spoken}."
        )
    if difference.call == "cannot_tell":
        more = [part for part in (what_would_settle(difference), difference.reason) if part]
        known = f" (difference {spoken})" if spoken else ""
        why = "; ".join(part.rstrip(".") for part in more)
        return f"{label}: cannot tell {a} from {b} yet{known}; {why}."
    interval = ""
    if has_interval(difference):
        interval = f" (difference {spoken})"
    return f"{label}: {a} is {difference.call} than {b} by {amount} {unit}{interval}."


def preference_words(calls: CallsByFinding) -> str:
    """What is wanted of the number: "higher is better", "lower is better" or "neither is better"."""
    if calls.preference == "none":
        return "neither is better"
    return f"{calls.preference} is better"


def assumed(calls: Iterable[CallsByFinding]) -> dict[str, list[str]]:
    """Each assumption in full with the labels of the findings it holds for, in order of appearance."""
    found: dict[str, list[str]] = {}
    for item in calls:
        if item.assumption:
            found.setdefault(item.assumption, []).append(item.label)
    return found


def percent(fraction: float) -> str:
    """``"86 %"``; "" where NaN."""
    return "" if not math.isfinite(fraction) else f"{number(100 * fraction, 0)} %"


def sheets_of(comparison: Comparison) -> str:
    """How many sheets were read: ``"3 sheets of each medium"`` or a range."""
    counts = sorted({len(c.sheets) for c in comparison.candidates})
    if not counts:
        return "no sheets"
    if len(counts) == 1:
        return f"{sheets_words(counts[0])} of each medium"
    return f"{counts[0]} to {counts[-1]} sheets of each medium"


def coverage_sentence(overlap: Overlap) -> str:
    """``"A holds 86 % of B (388 987 of 452 310; A itself has 811 905)."``, volumes in cubic Lab units."""
    shared, own, other = (number(v, 0) for v in (overlap.shared, overlap.volume, overlap.other_volume))
    a, b = display_name(overlap.candidate), display_name(overlap.other)
    return f"{a} holds {percent(overlap.coverage)} of {b} ({shared} of {other}; {a} itself has {own})."
