"""Compare media: from measurement files to findings, differences and calls."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field

from laydown.compute.runner import Runner, SerialRunner
from laydown.kernel.errors import BadSetting, RefusedInput
from laydown.kernel.problems import Problem
from laydown.kernel.version import __version__
from laydown.science.findings.gamut_findings import medium_body
from laydown.science.findings.likeness import NOT_ACROSS, Across
from laydown.usecases.answer import answer
from laydown.usecases.call_differences import ALPHA, CONFIDENCE, Called, call_differences
from laydown.usecases.collect_findings import FoundMedium, collect_findings
from laydown.usecases.comparison import BriefAsked, Candidate, Comparison, GamutBody, SheetSummary
from laydown.usecases.overlap_gamuts import overlap_gamuts, reference_gamuts
from laydown.usecases.read_media import AboutFile, Source, read_media
from laydown.usecases.show_candidate import gamut_body, patch_maps, swatches, tone_curves
from laydown.usecases.stated_facts import stated_facts
from laydown.usecases.trial_file import MarginSetting, Trial


@dataclass(frozen=True, slots=True)
class CompareOptions:
    """What the user asked for; what is empty falls back to the trial file, then to the default.

    ``condition`` is the measuring condition to judge under (M0-M3). ``margins`` holds the user's own margins
    and preferences by finding id. ``about`` holds what is known of single files, by their names. ``across``
    names what the question is about, such as coated against uncoated. ``cautions`` are said before all
    others. ``brief`` is what a trial's brief asks. ``slice_levels`` are the L* at which gamuts are cut.
    """

    house: str = ""
    condition: str = ""
    title: str = ""
    margins: Mapping[str, MarginSetting] = field(default_factory=dict)
    trial: Trial = field(default_factory=Trial)
    about: Mapping[str, AboutFile] = field(default_factory=dict)
    across: frozenset[Across] = NOT_ACROSS
    cautions: tuple[str, ...] = ()
    brief: BriefAsked | None = None
    slice_levels: tuple[float, ...] = (20.0, 35.0, 50.0, 65.0, 80.0)


@dataclass(frozen=True, slots=True)
class Progress:
    """How far a long piece of work has come, in words and counts."""

    done: int
    total: int
    what: str


def no_progress(_: Progress) -> None:
    """Say nothing."""


def compare_media(
    files: Sequence[Source],
    *,
    options: CompareOptions | None = None,
    runner: Runner | None = None,
    progress: Callable[[Progress], None] = no_progress,
) -> Comparison:
    """Read every file, work out every finding, and call every difference.

    A file that cannot be used becomes a problem and the others are compared all the same.

    Raises
    ------
    RefusedInput
        No file could be used at all, or the house medium is not among the media.
    """
    options = options or CompareOptions()
    house = _house(options, files)
    total = len(files) + 3

    def reading(done: int) -> None:
        progress(Progress(done, total, "reading files"))

    reading(0)
    read = read_media(
        files, trial=options.trial, about=options.about, runner=runner or SerialRunner(), progress=reading
    )
    if not read.media:
        raise RefusedInput(_nothing(read.problems), todo="laydown check FILE says what is in a file.")
    progress(Progress(len(files), total, "working out findings"))
    problems = read.problems
    collected = collect_findings(read.media, condition=options.condition)
    del read  # every patch of every sheet
    if not collected.media:
        raise RefusedInput(
            _nothing((*problems, *collected.problems)), todo="laydown check FILE says what is in a file."
        )
    progress(Progress(len(files) + 1, total, "comparing"))
    kept = house if any(medium.name == house for medium in collected.media) else ""
    called = call_differences(collected.media, house=kept, margins=options.margins, across=options.across)
    progress(Progress(len(files) + 2, total, "intersecting gamuts"))
    comparison = _assemble(collected.media, called, kept, options, (*problems, *collected.problems))
    progress(Progress(total, total, "done"))
    return comparison


def _house(options: CompareOptions, files: Sequence[Source]) -> str:
    house = options.house or options.trial.house
    names = list(dict.fromkeys(file.candidate for file in files))
    if house and house not in names:
        raise BadSetting(
            f'the house medium "{house}" is not among the media.', todo=f"They are: {', '.join(names)}."
        )
    return house


def _nothing(problems: Sequence[Problem]) -> str:
    first = [f"{p.place()}: {p.what}" for p in problems if p.severity == "error" and p.place()][:3]
    return "no file could be used. " + " ".join(first)


def _assemble(
    media: Sequence[FoundMedium],
    called: Called,
    house: str,
    options: CompareOptions,
    problems: Sequence[Problem],
) -> Comparison:
    candidates = tuple(_candidate(medium, called, house, options.slice_levels) for medium in media)
    bodies = {c.name: c.gamut for c in candidates if c.gamut is not None}
    references: dict[str, GamutBody] = reference_gamuts() if bodies else {}
    conditions = {medium.name: medium.judged.condition for medium in media}
    return Comparison(
        version=__version__,
        title=options.title or options.trial.title or _title([c.name for c in candidates]),
        question=options.trial.question or _question(house),
        house=house,
        condition=_condition(media),
        confidence=CONFIDENCE,
        alpha=ALPHA,
        comparisons=called.comparisons,
        candidates=candidates,
        differences=called.differences,
        by_finding=called.by_finding,
        overlaps=overlap_gamuts(bodies, references, conditions=conditions, refused=called.refusals),
        references=references,
        summary=answer(candidates, called.differences, house=house),
        cautions=(*options.cautions, *called.cautions, *STANDING_CAUTIONS),
        problems=_in_order(problems),
        invented=options.trial.invented,
        brief=options.brief,
    )


def _condition(media: Sequence[FoundMedium]) -> str:
    """The condition of all media; where only the backing differs or is missing, that is said of those."""
    readings = {medium.name: medium.judged.sheets[0].readings[0] for medium in media}
    told = {item.condition for item in readings.values()}
    if len(told) == 1:
        return told.pop()
    if len({(item.measurement, item.colorimetry) for item in readings.values()}) > 1:
        return "unlike conditions, see each medium"
    first = next(iter(readings.values()))
    backings = {name: item.conditions.backing.value for name, item in readings.items()}
    missing = [name for name, backing in backings.items() if backing is None]
    if missing and len(set(backings.values())) == 2:
        known = next(backing for backing in backings.values() if backing is not None)
        return (
            f"{first.measurement}, {known} backing (not stated for {', '.join(missing)}), {first.colorimetry}"
        )
    return f"{first.measurement}, unlike backings, {first.colorimetry}"


MOST_IN_TITLE = 4

STANDING_CAUTIONS = (
    (
        "What was compared are these sheets, of these lots, printed with these settings; "
        "another lot or setting is another medium."
    ),
    "Nothing here says how long a print lasts.",
)


def _title(names: Sequence[str]) -> str:
    return " / ".join(names) if len(names) <= MOST_IN_TITLE else f"{len(names)} media compared"


def _question(house: str) -> str:
    if house:
        return f"Which of these media is better than {house}, and is the difference real?"
    return "Which of these media is better, and is the difference real?"


def _in_order(problems: Sequence[Problem]) -> tuple[Problem, ...]:
    """Errors first, then warnings, then notes; the same thing said twice is said once."""
    order = {"error": 0, "warning": 1, "note": 2}
    return tuple(sorted(dict.fromkeys(problems), key=lambda problem: order[problem.severity]))


def _candidate(medium: FoundMedium, called: Called, house: str, slice_levels: tuple[float, ...]) -> Candidate:
    reading = medium.judged.sheets[0].readings[0]
    return Candidate(
        name=medium.name,
        house=medium.name == house,
        sheets=tuple(
            SheetSummary(
                name=sheet.name,
                files=tuple(dict.fromkeys(item.file for item in sheet.readings)),
                conditions=tuple(dict.fromkeys(item.condition for item in sheet.readings)),
                patches=max(len(item.ids) for item in sheet.readings),
            )
            for sheet in medium.sheets
        ),
        facts=stated_facts(reading.conditions, colorimetry=reading.colorimetry),
        findings=called.findings[medium.name],
        swatches=swatches(medium),
        tones=tone_curves(medium),
        gamut=gamut_body(medium_body(medium.judged.sheets, medium.chart), slice_levels=slice_levels),
        patch_maps=patch_maps(medium),
    )
