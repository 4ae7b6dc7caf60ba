"""Sheets of self-adhesive labels as studios buy them, and plain paper to be cut up, in mm."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from laydown.kernel.errors import BadSetting
from laydown.science.forms.page import Box

LabelPaper = Literal["A4", "US Letter"]
PAPER_MM: dict[LabelPaper, tuple[float, float]] = {"A4": (210.0, 297.0), "US Letter": (215.9, 279.4)}
SOURCE = "sizes in which label sheets are usually sold (common practice, no source); hold yours against them"


@dataclass(frozen=True, slots=True, kw_only=True)
class LabelSheet:
    """A sheet of labels of one size: where the first begins, and how far it is to the next.

    ``is_cut`` says whether labels come apart by themselves; else lines to cut along are drawn.
    """

    name: str
    paper: LabelPaper
    columns: int
    rows: int
    width_mm: float
    height_mm: float
    left_mm: float
    top_mm: float
    across_mm: float
    down_mm: float
    is_cut: bool = True

    @property
    def size_mm(self) -> tuple[float, float]:
        """Of the paper."""
        return PAPER_MM[self.paper]

    @property
    def labels(self) -> int:
        """How many labels it has."""
        return self.columns * self.rows

    @property
    def words(self) -> str:
        """As somebody chooses it."""
        kind = "labels" if self.is_cut else "on plain paper, to cut up"
        return f"{self.paper}, {self.labels} of {self.width_mm:g} x {self.height_mm:g} mm, {kind}"

    def box(self, place: int) -> Box:
        """Where a label lies, counted from 0 along the rows."""
        row, column = divmod(place, self.columns)
        left, top = self.left_mm + column * self.across_mm, self.top_mm + row * self.down_mm
        sides = (left, top, left + self.width_mm, top + self.height_mm)
        return Box(*(round(one, 6) for one in sides))  # neighbours meet and do not overlap


LABEL_SHEETS = (
    LabelSheet(name="a4-21", paper="A4", columns=3, rows=7, width_mm=63.5, height_mm=38.1,
               left_mm=7.25, top_mm=15.15, across_mm=66.0, down_mm=38.1),
    LabelSheet(name="a4-24", paper="A4", columns=3, rows=8, width_mm=70.0, height_mm=37.0,
               left_mm=0.0, top_mm=0.5, across_mm=70.0, down_mm=37.0),
    LabelSheet(name="a4-14", paper="A4", columns=2, rows=7, width_mm=99.1, height_mm=38.1,
               left_mm=4.65, top_mm=15.15, across_mm=101.6, down_mm=38.1),
    LabelSheet(name="a4-8", paper="A4", columns=2, rows=4, width_mm=99.1, height_mm=67.7,
               left_mm=4.65, top_mm=13.1, across_mm=101.6, down_mm=67.7),
    LabelSheet(name="letter-30", paper="US Letter", columns=3, rows=10, width_mm=66.7, height_mm=25.4,
               left_mm=4.75, top_mm=12.7, across_mm=69.85, down_mm=25.4),
    LabelSheet(name="letter-10", paper="US Letter", columns=2, rows=5, width_mm=101.6, height_mm=50.8,
               left_mm=4.0, top_mm=12.7, across_mm=106.3, down_mm=50.8),
    LabelSheet(name="a4-plain", paper="A4", columns=3, rows=7, width_mm=62.0, height_mm=38.0,
               left_mm=12.0, top_mm=15.5, across_mm=62.0, down_mm=38.0, is_cut=False),
    LabelSheet(name="letter-plain", paper="US Letter", columns=3, rows=6, width_mm=62.0, height_mm=40.0,
               left_mm=14.95, top_mm=19.7, across_mm=62.0, down_mm=40.0, is_cut=False),
)  # fmt: skip


def label_sheet(name: str) -> LabelSheet:
    """A sheet of labels by its name.

    Raises
    ------
    BadSetting
        There is no such sheet.
    """
    for sheet in LABEL_SHEETS:
        if sheet.name == name:
            return sheet
    known = ", ".join(sheet.name for sheet in LABEL_SHEETS)
    raise BadSetting(f'there are no label sheets "{name}".', todo=f"Choose one of {known}.")
