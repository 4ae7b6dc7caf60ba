"""Dates as people and instruments write them, made ISO 8601 only where they can mean one day."""

from __future__ import annotations

import re

_MONTHS = ("jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec")
_TIME = r"(?:[T ]+(?:Time:\s*)?(\d{1,2}:\d{2}(?::\d{2}(?:\.\d+)?)?\s?(?:Z|[+-]\d{2}:?\d{2})?))?"
_YEAR_FIRST = re.compile(r"(\d{4})[-/.](\d{1,2})[-/.](\d{1,2})" + _TIME)
_YEAR_LAST = re.compile(r"(\d{1,2})([-/.])(\d{1,2})\2(\d{4})" + _TIME)
_NAMED_FIRST = re.compile(r"([A-Za-z]{3,9})\.?\s+(\d{1,2}),?\s+(\d{4})")
_NAMED_SECOND = re.compile(r"(\d{1,2})\.?\s+([A-Za-z]{3,9})\.?,?\s+(\d{4})")
_MONTH_ONLY = re.compile(r"([A-Za-z]{3,9})\.?,?\s+(\d{4})")


def iso_date(text: str) -> str:
    """Write a date as ISO 8601 where that is clear, else give the text back.

    ``8/28/2006`` can only be month first; ``8/3/2006`` could be two days and stays as it is.

    Parameters
    ----------
    text : a date as written.

    Returns
    -------
    ISO 8601, or the text.

    Checked against
    ---------------
    Dates of published files and ambiguous ones (``test_conditions.py``).
    """
    words = text.strip()
    if match := _YEAR_FIRST.fullmatch(words):
        return _iso(int(match[1]), int(match[2]), int(match[3]), match[4]) or words
    if match := _YEAR_LAST.fullmatch(words):
        return _year_last(match) or words
    if (match := _NAMED_FIRST.fullmatch(words)) and (month := _month(match[1])):
        return _iso(int(match[3]), month, int(match[2]), None) or words
    if (match := _NAMED_SECOND.fullmatch(words)) and (month := _month(match[2])):
        return _iso(int(match[3]), month, int(match[1]), None) or words
    if (match := _MONTH_ONLY.fullmatch(words)) and (month := _month(match[1])):
        return f"{int(match[2]):04d}-{month:02d}"
    return words


def _year_last(match: re.Match[str]) -> str:
    first, second, year = int(match[1]), int(match[3]), int(match[4])
    if match[2] == "." or first > 12:
        return _iso(year, second, first, match[5])
    if second > 12 or first == second:
        return _iso(year, first, second, match[5])
    return ""


def _month(name: str) -> int:
    """1 to 12, or 0 where the word is no English month."""
    short = name[:3].lower()
    return _MONTHS.index(short) + 1 if short in _MONTHS else 0


def _iso(year: int, month: int, day: int, time: str | None) -> str:
    """The date in ISO form, or empty where there is no such day."""
    if not (1 <= month <= 12 and 1 <= day <= 31):
        return ""
    return f"{year:04d}-{month:02d}-{day:02d}" + (f"T{time.replace(' ', '')}" if time else "")
