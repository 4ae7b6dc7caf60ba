"""The one result that page, terminal, JSON and PDF are all made from."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from types import MappingProxyType

from laydown.kernel.arrays import Floats, Ints
from laydown.kernel.problems import Problem
from laydown.science.deciding.types import Call


@dataclass(frozen=True, slots=True)
class Finding:
    """One number about one candidate under one condition, with everything needed to trust it.

    ``low`` and ``high`` are NaN where one sheet allows no interval; ``note`` then says so. ``detail`` adds
    words such as which patch was the darkest. ``per_sheet`` holds (sheet name, value). ``primary`` is False
    for the conditions that were read beside the one calls are made under.
    """

    id: str
    label: str
    family: str
    value: float
    low: float
    high: float
    n: int
    sd: float
    unit: str
    decimals: int
    condition: str
    method: str
    source: str
    judged: bool
    note: str = ""
    detail: str = ""
    per_sheet: tuple[tuple[str, float], ...] = ()
    primary: bool = True


@dataclass(frozen=True, slots=True)
class ComparedDifference:
    """``candidate`` minus ``against`` in one finding, and its call; see ``science.deciding.types``."""

    finding: str
    label: str
    unit: str
    decimals: int
    condition: str
    candidate: str
    against: str
    difference: float
    low: float
    high: float
    margin: float | None
    margin_source: str
    call: Call
    sheets_needed: int | None
    p_adjusted: float
    real: bool
    refused: bool
    reason: str

    def turned(self) -> ComparedDifference:
        """The same difference seen from the other side."""
        return replace(
            self,
            candidate=self.against,
            against=self.candidate,
            difference=-self.difference,
            low=-self.high,
            high=-self.low,
            call=_TURNED[self.call],
        )


_TURNED: Mapping[Call, Call] = MappingProxyType(
    {
        "better": "worse",
        "worse": "better",
        "higher": "lower",
        "lower": "higher",
        "same": "same",
        "cannot_tell": "cannot_tell",
    }
)


@dataclass(frozen=True, slots=True, eq=False)
class ToneCurve:
    """A ramp from paper to full ink: steps (s,) 0 = paper, 1 = full ink; lab (s, 3); spread (s,) SD of L*.

    ``name`` is neutral or a primary. ``lost`` (s,) marks steps too close to the next to be told apart.
    """

    name: str
    steps: Floats
    lab: Floats
    spread: Floats
    lost: tuple[bool, ...] = ()


@dataclass(frozen=True, slots=True, eq=False)
class GamutBody:
    """A gamut as a closed mesh in Lab: vertices (v, 3), triangles (f, 3), and how it was got.

    ``bound`` is "surface" (device-space surface, triangulated) or "hull" (convex hull, an upper bound).
    ``slices`` maps an L* level to closed outlines, each (p, 2) of a*, b*.
    """

    vertices: Floats
    triangles: Ints
    bound: str
    volume: float
    slices: Mapping[float, tuple[Floats, ...]] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Overlap:
    """How two gamuts meet: volumes in Lab cubic units; ``coverage`` is shared / volume of ``other``."""

    candidate: str
    other: str
    shared: float
    volume: float
    other_volume: float
    coverage: float
    condition: str


@dataclass(frozen=True, slots=True)
class PatchCell:
    """One patch on the patch map; ``suspicion`` is empty where nothing is wrong."""

    id: str
    row: int
    column: int
    device: tuple[float, ...]
    lab: tuple[float, float, float]
    hex: str
    suspicion: str


@dataclass(frozen=True, slots=True)
class PatchMap:
    """All patches of one sheet under one condition; ``measured_layout`` is False where rows were made up."""

    sheet: str
    condition: str
    rows: int
    columns: int
    measured_layout: bool
    cells: tuple[PatchCell, ...]


@dataclass(frozen=True, slots=True)
class Swatch:
    """A measured colour to show: its name, Lab and nearest sRGB (``clipped`` where sRGB cannot show it)."""

    name: str
    lab: tuple[float, float, float]
    hex: str
    clipped: bool
    device: str = ""


@dataclass(frozen=True, slots=True)
class StatedFact:
    """One measuring condition: what it is called, its value in words, and where it was found."""

    name: str
    value: str
    where: str


@dataclass(frozen=True, slots=True)
class SheetSummary:
    """A sheet: its name, its files and the conditions read on it."""

    name: str
    files: tuple[str, ...]
    conditions: tuple[str, ...]
    patches: int


@dataclass(frozen=True, slots=True, eq=False)
class Candidate:
    """One medium and all that was found about it."""

    name: str
    house: bool
    sheets: tuple[SheetSummary, ...]
    facts: tuple[StatedFact, ...]
    findings: tuple[Finding, ...]
    swatches: tuple[Swatch, ...] = ()
    tones: tuple[ToneCurve, ...] = ()
    gamut: GamutBody | None = None
    patch_maps: tuple[PatchMap, ...] = ()

    def finding(self, finding_id: str, *, condition: str | None = None) -> Finding | None:
        """The finding with that id (first, or under ``condition``), or None."""
        for item in self.findings:
            if item.id == finding_id and condition in (None, item.condition):
                return item
        return None


@dataclass(frozen=True, slots=True)
class CallsByFinding:
    """What is said about one finding over all candidates: letters, assumption, margin and preference."""

    finding: str
    label: str
    unit: str
    condition: str
    preference: str
    margin: float | None
    margin_source: str
    letters: Mapping[str, str]
    assumption: str


@dataclass(frozen=True, slots=True)
class BriefCriterion:
    """What counts for a trial: ``share`` of all weights (NaN where nothing is weighed), and its finding.

    ``finding`` is "" where nothing that is measured speaks to it; ``matters`` is the difference that the
    brief says would matter, with its unit, "" where it names none.
    """

    name: str
    share: float
    finding: str = ""
    matters: str = ""


@dataclass(frozen=True, slots=True)
class BriefAsked:
    """What a trial's brief asks for; ``dated`` says since when, in words. ``gates`` are its must-haves."""

    dated: str
    criteria: tuple[BriefCriterion, ...]
    gates: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, eq=False)
class Comparison:
    """The whole answer: candidates, differences with calls, overlaps, cautions, problems (shown last).

    ``house`` is the name of the medium the studio uses now, "" where none was named. ``condition`` is the
    measuring condition the calls are made under. ``summary`` holds the plain sentences of the answer.
    ``brief`` is what a trial's brief asks, None where there is none or another question is asked.
    """

    version: str
    title: str
    question: str
    house: str
    condition: str
    confidence: float
    alpha: float
    comparisons: int
    candidates: tuple[Candidate, ...]
    differences: tuple[ComparedDifference, ...]
    by_finding: tuple[CallsByFinding, ...]
    overlaps: tuple[Overlap, ...]
    references: Mapping[str, GamutBody]
    summary: tuple[str, ...]
    cautions: tuple[str, ...]
    problems: tuple[Problem, ...]
    invented: bool = False
    brief: BriefAsked | None = None

    def candidate(self, name: str) -> Candidate:
        """The candidate of that name; KeyError where there is none."""
        for item in self.candidates:
            if item.name == name:
                return item
        raise KeyError(name)
