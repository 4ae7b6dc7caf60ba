"""What the pages of one candidate show: its recipe, what it is, and where a recipe can be taken over from."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, fields
from datetime import datetime

from laydown.records.look import Look
from laydown.report.moments import moment_words
from laydown.trials.facts import TrialFacts
from laydown.trials.recipe import NOTHING_SET, Coat, Recipe
from laydown.trials.recipes import (
    LABELS,
    RecipeGap,
    RecipeProblem,
    SettingDifference,
    recipe_differences,
    recipe_gaps,
    setting_words,
)
from laydown.trials.remarks import Attachment
from laydown.trials.shared_settings import problems_here
from laydown.trials.sheets import BenchRun, Sheet
from laydown.trials.trial import Candidate, Trial
from laydown.web.views.notes import NotesView
from laydown.web.views.recipe_form import gap_choices
from laydown.web.views.stock_offer import StockOffer, stock_value
from laydown.web.views.stock_words import stock_words
from laydown.web.views.trial_frame import TrialFrame, trial_frame

IDENTITY_PLACES = {"lot_id": "stock", "roll_id": "stock", "printer_id": "printer", "coat": "coat_product"}
COAT_FIELDS = ("product", "batch", "dilution", "tool", "coats", "wet_g_m2", "flow_cup_seconds")


@dataclass(frozen=True, slots=True)
class CandidateHead:
    """What stands above every page of a candidate. ``part`` names the page: recipe, identity or take-over."""

    id: str
    name: str
    house: bool
    finish: str
    withdrawn: str
    stock: str
    part: str
    revision: int


@dataclass(frozen=True, slots=True)
class KeptProfile:
    """A profile file that is kept with a candidate; ``used`` says whether the recipe names it."""

    name: str
    checksum: str
    when: str
    used: bool


@dataclass(frozen=True, slots=True)
class GapLine:
    """Something that is not stated, why it is wanted, and the field it is stated in."""

    label: str
    why: str
    todo: str
    href: str


@dataclass(frozen=True, slots=True)
class RecipeView:
    """The recipe of a candidate: as text to alter, in words to read, with what is missing or wrong."""

    frame: TrialFrame
    head: CandidateHead
    texts: Mapping[str, str]
    stated: tuple[tuple[str, str], ...]
    gaps: tuple[GapLine, ...]
    problems: tuple[RecipeProblem, ...]
    gap_choices: tuple[tuple[str, str], ...]
    profiles: tuple[KeptProfile, ...]
    notes: NotesView
    refusal: str = ""


@dataclass(frozen=True, slots=True)
class IdentityView:
    """What a candidate is, as text to alter; ``printed`` is a sheet of it that was begun, "" for none."""

    frame: TrialFrame
    head: CandidateHead
    texts: Mapping[str, str]
    stock: StockOffer
    printers: tuple[tuple[str, str], ...]
    usual_cure: float
    usual_dry: float
    printed: str
    twin: str
    refusal: str = ""


@dataclass(frozen=True, slots=True)
class Source:
    """Where a recipe can be taken over from; ``value`` names it in a form."""

    value: str
    words: str
    recipe: Recipe


@dataclass(frozen=True, slots=True)
class TakeOverView:
    """Sources of a recipe and, for a chosen one, every difference it makes and what would be wrong then."""

    frame: TrialFrame
    head: CandidateHead
    sources: tuple[Source, ...]
    chosen: Source | None
    differences: tuple[SettingDifference, ...]
    problems: tuple[RecipeProblem, ...]
    refusal: str = ""


def candidate_head(facts: TrialFacts, candidate: Candidate, *, part: str, revision: int) -> CandidateHead:
    """What stands above every page of a candidate."""
    zone = facts.studio.time_zone
    withdrawn = ""
    if candidate.withdrawn_at is not None:
        withdrawn = f"{moment_words(candidate.withdrawn_at, time_zone=zone)}: {candidate.withdrawn_why}"
    return CandidateHead(
        id=candidate.id,
        name=candidate.name,
        house=candidate.house,
        finish=candidate.finish,
        withdrawn=withdrawn,
        stock=stock_words(facts, candidate),
        part=part,
        revision=revision,
    )


def recipe_view(
    facts: TrialFacts,
    head: CandidateHead,
    *,
    texts: Mapping[str, str],
    attachments: Sequence[Attachment],
    notes: NotesView,
    now: datetime,
    refusal: str = "",
) -> RecipeView:
    """What the page of a recipe shows."""
    candidate = facts.candidate(head.id)
    recipe, printer = candidate.recipe, facts.printer_of(candidate)
    zone = facts.studio.time_zone
    return RecipeView(
        frame=trial_frame(facts, now=now, here="plan"),
        head=head,
        texts=texts,
        stated=tuple(
            (LABELS[item.name], setting_words(recipe, item.name))
            for item in fields(Recipe)
            if getattr(recipe, item.name) != getattr(NOTHING_SET, item.name)
        ),
        gaps=tuple(_gap(facts, candidate, one) for one in recipe_gaps(candidate, printer=printer)),
        problems=problems_here(facts, candidate, recipe, printer=printer, for_chart=False),
        gap_choices=gap_choices(printer.head_gaps if printer else (), texts.get("head_gap", "")),
        profiles=tuple(
            KeptProfile(
                one.name,
                one.sha256,
                moment_words(one.at, time_zone=zone),
                one.sha256 == recipe.profile_sha256,
            )
            for one in attachments
        ),
        notes=notes,
        refusal=refusal,
    )


def _gap(facts: TrialFacts, candidate: Candidate, gap: RecipeGap) -> GapLine:
    """Settings are stated on the page itself, the rest where it is said what the candidate is."""
    field = IDENTITY_PLACES.get(gap.field)
    href = f"#f-{gap.field}"
    if field is not None:
        href = f"/trials/{facts.trial.id}/candidates/{candidate.id}/identity#f-{field}"
    return GapLine(gap.label, gap.why, gap.todo, href)


def identity_texts(candidate: Candidate) -> dict[str, str]:
    """What is stated about a candidate, as the text of each field."""
    coat = candidate.coat or Coat()
    return {
        "name": candidate.name,
        "stock": stock_value(candidate),
        "printer": candidate.printer_id or "",
        "house": "on" if candidate.house else "",
        "finish": candidate.finish,
        "cure_hours": "" if candidate.cure_hours is None else f"{candidate.cure_hours:g}",
        "dry_hours": "" if candidate.dry_hours is None else f"{candidate.dry_hours:g}",
        "words": candidate.words,
        **{f"coat_{name}": _shown(getattr(coat, name)) for name in COAT_FIELDS},
    }


def identity_view(
    facts: TrialFacts,
    head: CandidateHead,
    *,
    texts: Mapping[str, str],
    stock: StockOffer,
    printers: tuple[tuple[str, str], ...],
    printed: str,
    now: datetime,
    refusal: str = "",
) -> IdentityView:
    """What the page about what a candidate is shows."""
    candidate = facts.candidate(head.id)
    arms = [
        one.name for one in facts.candidates if one.twin_id == candidate.id or one.id == candidate.twin_id
    ]
    return IdentityView(
        frame=trial_frame(facts, now=now, here="plan"),
        head=head,
        texts=texts,
        stock=stock,
        printers=printers,
        usual_cure=facts.trial.cure_hours,
        usual_dry=facts.trial.dry_hours,
        printed=printed,
        twin=arms[0] if arms else "",
        refusal=refusal,
    )


def take_over_view(
    facts: TrialFacts,
    head: CandidateHead,
    *,
    sources: tuple[Source, ...],
    chosen: Source | None,
    now: datetime,
    refusal: str = "",
) -> TakeOverView:
    """Every difference that taking over would make, and what would be wrong with it."""
    candidate = facts.candidate(head.id)
    before, printer = candidate.recipe, facts.printer_of(candidate)
    return TakeOverView(
        frame=trial_frame(facts, now=now, here="plan"),
        head=head,
        sources=sources,
        chosen=chosen,
        differences=recipe_differences(before, chosen.recipe) if chosen else (),
        problems=(
            problems_here(facts, candidate, chosen.recipe, printer=printer, for_chart=False) if chosen else ()
        ),
        refusal=refusal,
    )


def recipe_sources(look: Look, candidate: Candidate, *, time_zone: str) -> tuple[Source, ...]:
    """Recipes of this trial's other candidates, and those planned or set on the same medium anywhere."""
    here = look.find(Candidate, trial_id=candidate.trial_id, order=("position", "id"))
    alike = look.find(Candidate, medium_id=candidate.medium_id, order=("id",))
    others = [*here, *(one for one in alike if one.trial_id != candidate.trial_id)]
    trials = {trial.id: trial.name for trial in look.find_any(Trial, "id", {one.trial_id for one in others})}
    planned = [
        Source(f"c:{one.id}", f"{_named(one, candidate, trials)}, as planned", one.recipe)
        for one in others
        if one.id != candidate.id and one.recipe != NOTHING_SET
    ]
    names = {one.id: _named(one, candidate, trials) for one in others}
    runs = look.find_any(BenchRun, "candidate_id", names, order=("begun_at", "id"))
    codes = _codes(look, runs)
    really = [
        Source(
            f"r:{run.id}",
            f"{names[run.candidate_id]}, as really set on "
            f"{moment_words(run.begun_at, time_zone=time_zone)}{codes.get(run.id, '')}",
            run.recipe,
        )
        for run in reversed(runs)
        if run.recipe != NOTHING_SET
    ]
    return (*planned, *really)


def _named(one: Candidate, own: Candidate, trials: Mapping[str, str]) -> str:
    return one.name if one.trial_id == own.trial_id else f"{one.name} in “{trials[one.trial_id]}”"


def _codes(look: Look, runs: Sequence[BenchRun]) -> dict[str, str]:
    """The sheets of each run, as ": sheets C4, K7"."""
    found: dict[str, list[str]] = {}
    for sheet in look.find_any(Sheet, "run_id", {run.id for run in runs}, order=("code",)):
        found.setdefault(sheet.run_id or "", []).append(sheet.code)
    return {run: f": sheet{'s' if len(codes) > 1 else ''} {', '.join(codes)}" for run, codes in found.items()}


def _shown(value: object) -> str:
    return "" if value is None else f"{value:g}" if isinstance(value, float) else str(value)
