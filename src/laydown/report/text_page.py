"""Lines of text laid out in character cells: headings, wrapped text, hanging indents, columns."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Literal

from rich.cells import cell_len, chop_cells

from laydown.report.wording import ELLIPSIS, ascii_text

Look = Literal["title", "heading", "strong", "plain", "faint"]


@dataclass(slots=True)
class TextPage:
    """Lines gathered from top to bottom, each with how it should look.

    With ``plain`` every character is ASCII: text is turned before it is measured, so columns stay straight.
    """

    width: int
    plain: bool = False
    lines: list[tuple[Look, str]] = field(default_factory=list)

    def say(self, text: str) -> str:
        """The text as this page can show it."""
        return ascii_text(text) if self.plain else text

    def blank(self) -> None:
        """An empty line, never two together."""
        if self.lines and self.lines[-1][1]:
            self.lines.append(("plain", ""))

    def title(self, text: str) -> None:
        """The first line of the page, underlined."""
        for line in wrapped(self.say(text), self.width):
            self.lines.append(("title", line))
        longest = max((cell_len(line) for _, line in self.lines), default=0)
        self.lines.append(("title", "=" * min(longest, self.width)))

    def heading(self, text: str) -> None:
        """A heading in capitals, a blank line above."""
        self.blank()
        for line in wrapped(self.say(text).upper(), self.width):
            self.lines.append(("heading", line))

    def text(self, text: str, *, indent: int = 2, lead: str = "", look: Look = "plain") -> None:
        """Wrapped text behind ``lead``, which stands alone on the first line; the rest lines up under it."""
        start = " " * indent + self.say(lead)
        room = self.width - cell_len(start)
        for i, piece in enumerate(wrapped(self.say(text), room)):
            self.lines.append((look, (start if i == 0 else " " * cell_len(start)) + piece))

    def columns(self, cells: Sequence[str], widths: Sequence[int], *, look: Look = "plain") -> None:
        """One row: the first cell to the left and wrapped, the others to the right edge of their columns."""
        first = wrapped(self.say(cells[0]).strip(), widths[0] - indent_of(cells[0]) - 1) or [""]
        margin = " " * indent_of(cells[0])
        for piece in first[:-1]:
            self.lines.append((look, margin + piece))
        line = fit(margin + first[-1], widths[0])
        for cell, width in zip(cells[1:], widths[1:], strict=True):
            line += fit(self.say(cell), width, right=True)
        self.lines.append((look, line.rstrip()))

    def __str__(self) -> str:
        return "\n".join(line.rstrip() for _, line in self.lines).rstrip() + "\n"


def indent_of(text: str) -> int:
    """How many spaces the text starts with."""
    return len(text) - len(text.lstrip(" "))


def fit(text: str, width: int, *, right: bool = False) -> str:
    """The text in exactly ``width`` cells: padded, or cut with an ellipsis."""
    length = cell_len(text)
    if length > width:
        mark = "..." if text.isascii() else ELLIPSIS
        text = chop_cells(text, max(1, width - len(mark) - 1))[0].rstrip() + mark
        length = cell_len(text)
    space = " " * max(0, width - length)
    return space + text if right else text + space


def wrapped(text: str, width: int) -> list[str]:
    """Lines of at most ``width`` cells, broken at spaces; a word longer than that is cut."""
    lines: list[str] = []
    line = ""
    for word in _words(text, max(8, width)):
        joined = f"{line} {word}" if line else word
        if cell_len(joined) <= max(8, width):
            line = joined
            continue
        lines.append(line)
        line = word
    return [*lines, line] if line else lines


def _words(text: str, width: int) -> list[str]:
    return [
        piece
        for word in text.split(" ")
        if word
        for piece in (chop_cells(word, width) if cell_len(word) > width else [word])
    ]
