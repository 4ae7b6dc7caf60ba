"""Answers to a question about a reading, as they are kept: what would be done, and the words for it."""

from __future__ import annotations

from typing import Literal

Act = Literal["mend", "move", "leave_out", "keep"]
KEEP: Act = "keep"


def answer_text(act: Act, words: str, *, code: str = "") -> str:
    """An answer as a doubt keeps it: ``"mend: Turn the sheet round"``, ``"move H5: It is H5 of ..."``."""
    return f"{act} {code}: {words}" if code else f"{act}: {words}"


def act_of(answer: str) -> str:
    """What an answer does: one of mend, move, leave_out, keep."""
    return answer.partition(":")[0].partition(" ")[0]


def code_of(answer: str) -> str:
    """The sheet a reading is moved to, "" for other answers."""
    return answer.partition(":")[0].partition(" ")[2]


def words_of(answer: str) -> str:
    """An answer as it is read."""
    return answer.partition(": ")[2]
