"""The cut list of a nesting on paper: its drawing, the cuts in their order, and a label for every piece."""

from __future__ import annotations

import json
import tempfile
from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass, field, replace
from datetime import datetime
from importlib.resources import files
from pathlib import Path

from laydown.kernel.errors import BadSetting
from laydown.kernel.version import __version__
from laydown.report.lengths import length_words
from laydown.report.moments import moment_words
from laydown.report.nesting_drawing import both_units, nesting_svgs
from laydown.report.typesetting import typeset
from laydown.report.wording import display_name
from laydown.science.forms.nested import Cut, Nesting, PlacedPiece, RollMedia
from laydown.science.forms.nesting import nesting_words
from laydown.trials.checklist import BLADE, MOVING_PARTS
from laydown.trials.studio import Paper, Studio

OTHER_RULES = "The trimmer's own manual and the local rules come first."


@dataclass(frozen=True, slots=True)
class CutLine:
    """One cut, or the same cut in several rows: where, which way, at what measure and from what edge."""

    where: str
    way: str
    metric: str
    inch: str
    measured: str


@dataclass(frozen=True, slots=True)
class PieceLabel:
    """What is stuck to the back of a piece: its code, its size, and nothing that names the medium."""

    code: str
    line: str
    where: str


@dataclass(frozen=True, slots=True)
class CutList:
    """The list of one nesting as it is set on paper; every word that stands there."""

    paper: Paper
    title: str
    heading: str
    summary: str
    warnings: tuple[str, ...]
    cautions: tuple[str, ...]
    cuts: tuple[CutLine, ...]
    labels: tuple[PieceLabel, ...]
    made: str
    version: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Cutting:
    """One nesting that is to be cut: under which heading, and what stands on its pieces."""

    nesting: Nesting
    heading: str = ""
    codes: Mapping[str, str] = field(default_factory=dict)


def cut_list_pdf(
    nesting: Nesting,
    *,
    title: str,
    studio: Studio,
    now: datetime,
    codes: Mapping[str, str] | None = None,
) -> bytes:
    """The cut list of a nesting as a PDF: drawing, cautions, cuts to be ticked off, labels to be cut out.

    Parameters
    ----------
    nesting
        What is cut.
    title
        What it is of, such as the name of the trial. The labels bear it too, so it must not name the medium.
    studio
        Whose paper and time zone.
    now
        When it is made; aware. The same input gives the same bytes.
    codes
        For the label of a piece ("test 1") the code of its sheet; else its own label stands on it.

    Returns
    -------
    bytes
        A4 or US Letter, as the studio has it.
    """
    one = Cutting(nesting=nesting, codes=codes or {})
    return _paper([one], [cut_list(nesting, title=title, studio=studio, now=now, codes=codes)], now=now)


def cut_lists_pdf(
    cuttings: Sequence[Cutting],
    *,
    title: str,
    studio: Studio,
    now: datetime,
    summary: str = "",
    warnings: Sequence[str] = (),
) -> bytes:
    """The cut lists of several loads as one PDF, each from a page of its own, without labels.

    ``summary`` and ``warnings`` are of the whole and stand on the first page; the cautions stand on every
    list, since loads are cut on different days.

    Raises
    ------
    BadSetting
        There is nothing to cut.
    """
    if not cuttings:
        raise BadSetting("there is nothing to cut.", todo="Lay something out first.")
    views = [
        replace(
            cut_list(one.nesting, title=title, studio=studio, now=now, codes=one.codes),
            heading=display_name(one.heading),
            labels=(),
        )
        for one in cuttings
    ]
    first = views[0]
    views[0] = replace(
        first,
        summary=f"{summary} {first.summary}".strip(),
        warnings=(*warnings, *first.warnings),
    )
    return _paper(cuttings, views, now=now)


def _paper(cuttings: Sequence[Cutting], views: Sequence[CutList], *, now: datetime) -> bytes:
    with tempfile.TemporaryDirectory(prefix="laydown-") as made:
        folder = Path(made)
        parts = []
        for number, (one, view) in enumerate(zip(cuttings, views, strict=True)):
            names = []
            for at, drawing in enumerate(nesting_svgs(one.nesting, codes=one.codes)):
                names.append(f"drawing-{number}-{at}.svg")
                (folder / names[-1]).write_text(drawing, encoding="utf-8")
            parts.append(asdict(view) | {"drawings": names})
        (folder / "view.json").write_text(json.dumps(parts, ensure_ascii=False), encoding="utf-8")
        template = files("laydown.report").joinpath("cut_list_paper.typ").read_text(encoding="utf-8")
        (folder / "cut_list.typ").write_text(template, encoding="utf-8")
        return typeset(folder / "cut_list.typ", moment=now.replace(microsecond=0))


def cut_list(
    nesting: Nesting,
    *,
    title: str,
    studio: Studio,
    now: datetime,
    codes: Mapping[str, str] | None = None,
) -> CutList:
    """What stands on the paper."""
    told = codes or {}
    return CutList(
        paper=studio.paper,
        title=display_name(title),
        heading="",
        summary=nesting_words(nesting),
        warnings=nesting.warnings,
        cautions=(BLADE, MOVING_PARTS, OTHER_RULES),
        cuts=tuple(_across(nesting)) + tuple(_within(nesting)),
        labels=tuple(
            _label(one, number, told)
            for number, row in enumerate(nesting.rows, start=1)
            for one in row.pieces
        ),
        made=moment_words(now, time_zone=studio.time_zone),
        version=__version__,
    )


def _across(nesting: Nesting) -> list[CutLine]:
    """Cuts across the whole medium; sheets that are cut alike stand in one line."""
    whole = [cut for cut in nesting.cuts if cut.row is None]
    on_roll = isinstance(nesting.room.media, RollMedia)
    if on_roll:
        lines = [_line("roll", cut, cut.at_mm, "the leading edge") for cut in whole]
        if lines:
            first = lines[0]
            lines[0] = CutLine("roll", "across, off the roll", first.metric, first.inch, first.measured)
        return lines
    sheets: dict[tuple[float, ...], list[int]] = {}
    for sheet in sorted({cut.sheet for cut in whole}):
        places = tuple(cut.at_mm for cut in whole if cut.sheet == sheet)
        sheets.setdefault(places, []).append(sheet + 1)
    return [
        _line(_several("sheet", numbers), cut, cut.at_mm, "the leading edge")
        for places, numbers in sheets.items()
        for cut in whole
        if cut.sheet == numbers[0] - 1
    ]


def _within(nesting: Nesting) -> list[CutLine]:
    """Cuts within rows; rows that are cut alike stand in one line."""
    rows: dict[tuple[tuple[str | float, ...], ...], list[int]] = {}
    for number, row in enumerate(nesting.rows):
        cuts = [cut for cut in nesting.cuts if cut.row == number]
        pattern = tuple((cut.way, *(round(one, 3) for one in _within_row(cut, row.top_mm))) for cut in cuts)
        if pattern:
            rows.setdefault(pattern, []).append(number + 1)
    lines = []
    for numbers in rows.values():
        top = nesting.rows[numbers[0] - 1].top_mm
        for cut in (cut for cut in nesting.cuts if cut.row == numbers[0] - 1):
            at, start, _ = _within_row(cut, top)
            if cut.way == "along":
                lines.append(_line(_several("row", numbers), cut, at, "the left edge"))
            else:
                part = f"the row's leading cut, in the part from {both_units(start)}"
                lines.append(_line(_several("row", numbers), cut, at, part))
    return lines


def _within_row(cut: Cut, top_mm: float) -> tuple[float, float, float]:
    """A cut measured from the corner of its row, once that is cut off."""
    if cut.way == "along":
        return cut.at_mm, cut.from_mm - top_mm, cut.to_mm - top_mm
    return cut.at_mm - top_mm, cut.from_mm, cut.to_mm


def _line(where: str, cut: Cut, at_mm: float, measured: str) -> CutLine:
    metric, inch = (length_words(at_mm, units=units) for units in ("metric", "inch"))
    return CutLine(where, cut.way, metric, inch, measured)


def _several(what: str, numbers: Sequence[int]) -> str:
    """Numbers as a person says them: "rows 1 to 3, 5"."""
    runs: list[list[int]] = []
    for number in numbers:
        if runs and number == runs[-1][-1] + 1:
            runs[-1].append(number)
        else:
            runs.append([number])
    told = ", ".join(f"{run[0]}" if len(run) == 1 else f"{run[0]} to {run[-1]}" for run in runs)
    return f"{what}{'s' if len(numbers) > 1 else ''} {told}"


def _label(one: PlacedPiece, row: int, codes: Mapping[str, str]) -> PieceLabel:
    wide, high = (length_words(side, units="metric") for side in (one.box.width_mm, one.box.height_mm))
    size = f"{wide.removesuffix(' mm')} x {high}"
    use = {"print": "", "spare": "spare, ", "scrap": "for handling tests, "}[one.use]
    return PieceLabel(display_name(codes.get(one.label, one.label)), f"{use}{size}", f"row {row}")
