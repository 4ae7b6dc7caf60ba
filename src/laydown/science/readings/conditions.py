"""Measuring conditions, found in what a file states about itself, and left unknown where it states nothing.

Condition words live in free text, so each is looked for by pattern in the lines where it can mean only that:
a paper called "M2" is a material, and "coated art paper" says nothing of the print. Two lines that contradict
each other leave the condition unknown, with a warning.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass

from laydown.kernel.problems import Problem
from laydown.kernel.stated import Stated
from laydown.science.readings.dates import iso_date
from laydown.science.readings.types import Conditions


@dataclass(frozen=True, slots=True)
class Statement:
    """One line a file says about itself: keyword in capitals, value, and line number (0: none).

    ``shown`` is what the file calls it, where that is not the keyword.
    """

    keyword: str
    value: str
    line: int
    shown: str = ""

    @property
    def where(self) -> str:
        """The place in words: ``"INSTRUMENTATION, line 9"``."""
        name = self.shown or self.keyword
        return f"{name}, line {self.line}" if self.line else name


# Lines that name things (a paper may well be called "M2 Black 45") or give dates and numbers.
_NAMING = {
    "MATERIAL", "SERIAL", "MANUFACTURER", "ORIGINATOR", "COPYRIGHT", "CREATED", "PROD_DATE", "TARGET_TYPE",
    "TABLE_NAME", "KEYWORD", "CHART_ID", "DEVCALSTD", "FORMAT_VERSION", "NUMBER_OF_SETS", "NUMBER_OF_FIELDS",
}  # fmt: skip
_PRINTING = {"PRINT_CONDITIONS", "FINISH", "PRINT_FINISH", "PRINT_AGE_HOURS"}
_BACKINGS = {"SAMPLE_BACKING", "BACKING", "MEASUREMENT_BACKING"}
_NO = {
    "",
    "none",
    "no",
    "off",
    "false",
    "0",
    "unknown",
    "na",
    "n/a",
    "-",
    "undefined",
    "not stated",
    "without",
}

_M = re.compile(r"(?<![A-Za-z0-9])M([0-3])(?![A-Za-z0-9])")
_NO_UV_FILTER = re.compile(
    r"\b(?:no|without|non)[ -]*UV[ -]*(?:cut|filter)\w*|UV[ -]*included|UV[ -]*cut\s*=\s*no", re.I
)
_UV_CUT = re.compile(
    r"\bUV[ _-]*(?:cut|exclu|block|filter|less)\w*|\b(?:no|without|excluding)[ _-]*UV\b", re.I
)
_NO_POLAR = re.compile(
    r"\b(?:no|non|without|un)[ -]*(?:(?:cross|linear)[ -]*)?polari[sz]\w*(?:[ -]*filter)?"
    r"|\bpolari[sz]\w*(?:[ -]*filter)?\s*[=:]?\s*(?:none|no|off|false)\b",
    re.I,
)
_POLAR = re.compile(r"\b(?:cross[ -]?)?polari[sz]", re.I)
_BACKING = re.compile(
    r"\b(white|black|self|own)[ -]+backing\b|\bbacking\s*[:=]?\s*(white|black|self|own)\b", re.I
)
_ILLUMINANT = re.compile(
    r"(?<![A-Za-z0-9])(D50|D55|D65|D75|F2|F7|F11)(?![A-Za-z0-9])|\billuminant[\s,:=]+([ACE])\b", re.I
)
_OBSERVER = re.compile(
    r"(?<![\d./:])(2|10)[\s_-]*(?:°|º|deg\b|degrees?\b)"
    r"|\b(?:observer\w*|viewing angle)[\s,:=]+(?:CIE\s*)?(2|10)\b|\b(?:CIE[ -]?)(1931|1964)\b",
    re.I,
)
_GEOMETRY = re.compile(r"(?<![\w:/.])(45|0|8|d|di|de)°?[acx]?\s?[/:]\s?(45|0|8|d|di|de)°?([acx]?)(?![\w:/])")
_GEOMETRIES = {"45:0", "0:45", "d:8", "8:d", "d:0", "0:d", "di:8", "de:8", "8:di", "8:de"}
_STATUS = re.compile(
    r"\bstatus[\s_=:-]*([TAEMI])\b|\bdensity\w*\s*=\s*(?:ANSI|ISO|DIN)?[\s_-]*(?:status)?[\s_-]*([TAEMI])\b",
    re.I,
)
_AGE = re.compile(
    r"(\d+(?:[.,]\d+)?)[\s-]*(h|hrs?|hours?|d|days?)\s+(?:after\s+print\w*|dry\b|drying|dried|old\b)"
    r"|(?:after|dried(?: for)?)\s+(\d+(?:[.,]\d+)?)\s*(h|hrs?|hours?|d|days?)\s+(?:of\s+)?dry\w*",
    re.I,
)
_FINISHES = {
    "coated": "coated", "varnished": "coated", "laminated": "coated",
    "uncoated": "uncoated", "bare": "uncoated", "none": "uncoated", "unvarnished": "uncoated",
}  # fmt: skip
_CONDITION_WORDS = re.compile(r"geometry|according to|backing|polari[sz]|\bfilter\b|observer|^see\b", re.I)

_Found = list[tuple[str, str]]


def find_conditions(
    statements: Sequence[Statement], *, file: str, table: str = ""
) -> tuple[Conditions, list[Problem]]:
    """Find the measuring conditions a file states.

    Parameters
    ----------
    statements : the header lines that hold for one table, in file order.
    file, table : for messages.

    Returns
    -------
    conditions : each with where it was found; unknown where nothing or two different things are stated.
    problems : a warning for each contradiction.

    Notes
    -----
    Patterns are tried only on lines where they can mean the condition; see ``docs/methods/readings.md``.

    Checked against
    ---------------
    Header lines of published characterisation data, and lines made to mislead.
    """
    problems: list[Problem] = []

    def settle(what: str, find: Callable[[Statement], Iterable[str]]) -> Stated[str]:
        found = [(value, line.where) for line in statements for value in find(line)]
        stated, problem = _settle(what, found, file=file, table=table)
        problems.extend(problem)
        return stated

    age = settle("age of the print", _ages)
    conditions = Conditions(
        measurement=settle("measurement condition (M0 to M3)", _measurement_finder(statements)),
        backing=settle("backing", _backings),
        illuminant=settle("illuminant", _illuminants),
        observer=settle("observer", _observers),
        geometry=settle("geometry", _geometries),
        instrument=_first(statements, _instruments),
        date=_first(statements, _dates),
        density_status=settle("density status", _statuses),
        density_zero=settle("zero of the densities", _density_zeros),
        finish=settle("finish", _finishes),
        age_hours=Stated(float(age.value), age.where) if age.value is not None else Stated(),
    )
    problems.extend(_unknown_finishes(statements, file))
    return conditions, problems


def _settle(what: str, found: _Found, *, file: str, table: str) -> tuple[Stated[str], list[Problem]]:
    """One value where all lines agree; none, with a warning, where they do not."""
    if not found:
        return Stated(), []
    values = list(dict.fromkeys(value for value, _ in found))
    if len(values) == 1:
        return Stated(values[0], found[0][1]), []
    named = "; ".join(f"{value} ({place})" for value, place in dict(found).items())
    place = f" of table {table}" if table else ""
    sentence = f"the {what}{place} is stated in contradictory ways: {named}. It was left as not stated."
    return Stated(), [
        Problem("warning", sentence, todo="Correct the header, or state it in the trial.", file=file)
    ]


def _first(statements: Sequence[Statement], find: Callable[[Statement], Iterable[str]]) -> Stated[str]:
    """The first value found; these are names and dates, where two lines do not contradict."""
    for line in statements:
        for value in find(line):
            return Stated(value, line.where)
    return Stated()


def _is_naming(line: Statement) -> bool:
    return line.keyword in _NAMING


def _measurement_finder(statements: Sequence[Statement]) -> Callable[[Statement], Iterable[str]]:
    """Named conditions and words for them; a UV filter beside a polariser is M3, not a contradiction."""
    polarised = any("M3" in (*_named(line), *_polarised(line)) for line in statements)

    def find(line: Statement) -> Iterable[str]:
        yield from _named(line)
        if not polarised:
            yield from _without_uv(line)
        yield from _polarised(line)

    return find


def _named(line: Statement) -> Iterable[str]:
    if not _is_naming(line):
        for match in _M.finditer(line.value):
            yield f"M{match[1]}"


def _without_uv(line: Statement) -> Iterable[str]:
    if _is_naming(line) or line.keyword in _PRINTING:
        return
    if _UV_CUT.search(_NO_UV_FILTER.sub(" ", line.value)) or (
        line.keyword == "FILTER" and line.value.strip().upper() == "UV"
    ):
        yield "M2"


def _polarised(line: Statement) -> Iterable[str]:
    if _is_naming(line) or line.keyword in _PRINTING:
        return
    value = line.value.strip()
    if line.keyword in {"POLARIZATION", "POLARISATION"}:
        if value.lower() not in _NO:
            yield "M3"
        return
    if _POLAR.search(_NO_POLAR.sub(" ", value)) or (
        line.keyword == "FILTER" and value.lower() in {"pol", "polar"}
    ):
        yield "M3"


def _backings(line: Statement) -> Iterable[str]:
    if line.keyword in _BACKINGS:
        word = line.value.strip().lower()
        match = re.search(r"\b(white|black)\b", word)
        if match:
            yield match[1]
        elif word not in _NO:
            yield word
    elif not _is_naming(line):
        for match in _BACKING.finditer(line.value):
            yield (match[1] or match[2]).lower()


def _illuminants(line: Statement) -> Iterable[str]:
    if line.keyword == "ILLUMINANT" and line.value.strip().upper() in {"A", "C", "E"}:
        yield line.value.strip().upper()
        return
    if _is_naming(line) or line.keyword in _PRINTING or line.keyword in {"FILTER", "MEASUREMENT_FILTER"}:
        return
    for match in _ILLUMINANT.finditer(line.value):
        yield (match[1] or match[2]).upper()


def _observers(line: Statement) -> Iterable[str]:
    if _is_naming(line) or line.keyword in _PRINTING:
        return
    value = line.value.strip()
    if line.keyword == "OBSERVER" and value in {"2", "10"}:
        yield value
        return
    for match in _OBSERVER.finditer(value):
        yield match[1] or match[2] or {"1931": "2", "1964": "10"}[match[3]]


def _geometries(line: Statement) -> Iterable[str]:
    if _is_naming(line) or line.keyword in _PRINTING:
        return
    for match in _GEOMETRY.finditer(line.value):
        if (pair := f"{match[1]}:{match[2]}") in _GEOMETRIES:
            yield pair


def _instruments(line: Statement) -> Iterable[str]:
    if line.keyword not in {"INSTRUMENTATION", "INSTRUMENT", "DEVICE"}:
        return
    kept = [part.strip() for part in line.value.split(",")]
    kept = [part for part in kept if part and not _is_condition(part)]
    if kept:
        yield ", ".join(kept)


def _is_condition(part: str) -> bool:
    """Whether a part of the instrument line states a condition and not the instrument."""
    return any(
        pattern.search(part)
        for pattern in (_CONDITION_WORDS, _M, _ILLUMINANT, _OBSERVER, _GEOMETRY, _STATUS, _UV_CUT)
    )


def _dates(line: Statement) -> Iterable[str]:
    if line.keyword in {"CREATED", "CREATIONDATE", "MEASUREMENT_DATE"} and line.value.strip():
        yield iso_date(line.value)


def _statuses(line: Statement) -> Iterable[str]:
    if _is_naming(line):
        return
    if line.keyword in {"DENSITY_STATUS", "STATUS"} and re.fullmatch(r"[TAEMI]", line.value.strip(), re.I):
        yield line.value.strip().upper()
        return
    for match in _STATUS.finditer(line.value):
        yield (match[1] or match[2]).upper()


def _density_zeros(line: Statement) -> Iterable[str]:
    """What densities were read above: DENSITY_ZERO "absolute" or "paper"."""
    if line.keyword == "DENSITY_ZERO" and (word := line.value.strip().lower()) in {"absolute", "paper"}:
        yield word


def _finishes(line: Statement) -> Iterable[str]:
    if line.keyword in {"FINISH", "PRINT_FINISH"}:
        word = line.value.strip().lower()
        if word in _FINISHES:
            yield _FINISHES[word]


def _unknown_finishes(statements: Sequence[Statement], file: str) -> Iterable[Problem]:
    for line in statements:
        if line.keyword in {"FINISH", "PRINT_FINISH"} and line.value.strip().lower() not in _FINISHES:
            what = f'the finish "{line.value.strip()}" is neither coated nor uncoated and was not used.'
            yield Problem(
                "warning",
                what,
                todo='Write FINISH "coated" or "uncoated".',
                file=file,
                line=line.line or None,
            )


def _ages(line: Statement) -> Iterable[str]:
    if line.keyword == "PRINT_AGE_HOURS":
        number = re.fullmatch(r"\s*(\d+(?:[.,]\d+)?)\s*(?:h|hours?)?\s*", line.value)
        if number:
            yield str(float(number[1].replace(",", ".")))
        return
    if _is_naming(line):
        return
    for match in _AGE.finditer(line.value):
        amount = float((match[1] or match[3]).replace(",", "."))
        unit = (match[2] or match[4]).lower()
        yield str(amount * (24.0 if unit.startswith("d") else 1.0))
