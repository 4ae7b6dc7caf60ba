"""What the pages of a brief show: the brief in force beside the sealed text, its seal, its changes."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from itertools import groupby

from laydown.report.moments import day_words, moment_words
from laydown.science.findings.catalogue import METRICS
from laydown.trials.brief_changes import LABELS, amount_words, brief_in_force, field_words
from laydown.trials.brief_checks import BriefGap, brief_gaps, missing_for_seal, shares
from laydown.trials.facts import TrialFacts
from laydown.trials.trial import Brief, BriefChange, Criterion
from laydown.web.views.brief_form import BriefForm
from laydown.web.views.trial_frame import TrialFrame, trial_frame

NOT_THERE = "not there"
USE = (
    "question",
    "products",
    "sizes",
    "display_light",
    "viewing_distance",
    "glazing",
    "coating",
    "must_match",
)
JUDGING = ("judges", "lights", "stop_date", "words")


@dataclass(frozen=True, slots=True)
class BriefLine:
    """One thing the brief says; ``sealed`` is what the sealed text says where that is something else."""

    label: str
    words: str
    sealed: str = ""
    share: float | None = None
    aside: str = ""

    @property
    def changed(self) -> bool:
        """Whether it was changed after sealing."""
        return bool(self.sealed)

    @property
    def per_cent(self) -> str:
        """Its share of all weights."""
        return "" if self.share is None else f"{100 * self.share:.0f} %"


@dataclass(frozen=True, slots=True)
class BriefPart:
    """Lines that belong together; ``empty`` is said where there are none."""

    title: str
    lines: tuple[BriefLine, ...]
    empty: str = ""


@dataclass(frozen=True, slots=True)
class ChangeLine:
    """What was changed, in words."""

    what: str
    before: str
    after: str


@dataclass(frozen=True, slots=True)
class ChangeGroup:
    """What was changed in one go, when, by whom and why."""

    when: str
    when_iso: str
    by: str
    why: str
    lines: tuple[ChangeLine, ...]


@dataclass(frozen=True, slots=True)
class BriefView:
    """The brief of a trial. ``state`` is "none", "draft" or "sealed"; ``refusal`` says why an act failed."""

    frame: TrialFrame
    state: str
    parts: tuple[BriefPart, ...]
    gaps: tuple[BriefGap, ...]
    missing: tuple[str, ...]
    changes: tuple[ChangeGroup, ...]
    sealed_when: str
    sealed_by: str
    seal: str
    revision: int
    refusal: str = ""


@dataclass(frozen=True, slots=True)
class BriefFormView:
    """The form of a brief. ``changing`` is True after sealing: then a reason is asked for.

    ``seen`` is the revision of a draft, or the number of changes known.
    """

    frame: TrialFrame
    form: BriefForm
    changing: bool
    why: str
    seen: int
    refusal: str = ""


def brief_view(facts: TrialFacts, *, revision: int, now: datetime, refusal: str = "") -> BriefView:
    """What the page of a brief shows."""
    sealed = facts.brief
    told = sealed or Brief(id="", trial_id=facts.trial.id)
    current = brief_in_force(told, facts.brief_changes)
    zone = facts.studio.time_zone
    is_sealed = sealed is not None and sealed.sealed_at is not None
    return BriefView(
        frame=trial_frame(facts, now=now, here="brief"),
        state="none" if sealed is None else "sealed" if is_sealed else "draft",
        parts=_parts(current, told),
        gaps=brief_gaps(current),
        missing=missing_for_seal(current),
        changes=_changes(facts.brief_changes, zone),
        sealed_when=moment_words(told.sealed_at, time_zone=zone) if told.sealed_at else "",
        sealed_by=told.sealed_by,
        seal=told.seal,
        revision=revision,
        refusal=refusal,
    )


def brief_form_view(
    facts: TrialFacts, form: BriefForm, *, seen: int, now: datetime, why: str = "", refusal: str = ""
) -> BriefFormView:
    """What the form of a brief shows."""
    return BriefFormView(
        frame=trial_frame(facts, now=now, here="brief"),
        form=form,
        changing=facts.brief is not None and facts.brief.sealed_at is not None,
        why=why,
        seen=seen,
        refusal=refusal,
    )


def _parts(current: Brief, sealed: Brief) -> tuple[BriefPart, ...]:
    return (
        BriefPart("What it is for", tuple(_field(name, current, sealed) for name in USE)),
        BriefPart("Must-haves", _gates(current, sealed), "None yet."),
        BriefPart("What counts, and how much", _criteria(current, sealed), "None yet."),
        BriefPart(
            "Differences that matter",
            _differences(current, sealed),
            "The defaults of the catalogue hold for every finding.",
        ),
        BriefPart("Judging and end", tuple(_field(name, current, sealed) for name in JUDGING)),
    )


def _field(name: str, current: Brief, sealed: Brief) -> BriefLine:
    words, before = _words(name, current), _words(name, sealed)
    return BriefLine(LABELS[name].capitalize(), words, before if before != words else "")


def _words(name: str, brief: Brief) -> str:
    return day_words(brief.stop_date) if name == "stop_date" else field_words(brief, name)


def _gates(current: Brief, sealed: Brief) -> tuple[BriefLine, ...]:
    now = {one.name: one.words or "must be met" for one in current.gates}
    then = {one.name: one.words or "must be met" for one in sealed.gates}
    return tuple(_part(name, now, then) for name in {**now, **then})


def _criteria(current: Brief, sealed: Brief) -> tuple[BriefLine, ...]:
    counted = shares(current)
    now = {one.name: _criterion(one) for one in current.criteria}
    then = {one.name: _criterion(one) for one in sealed.criteria}
    return tuple(_part(name, now, then, share=counted.get(name)) for name in {**now, **then})


def _criterion(one: Criterion) -> str:
    tied = f"measured by {METRICS[one.finding].label}" if one.finding in METRICS else ""
    return ", ".join(part for part in (f"weight {one.weight:g}", tied, one.words) if part)


def _differences(current: Brief, sealed: Brief) -> tuple[BriefLine, ...]:
    now = {one.finding: amount_words(one) for one in current.differences}
    then = {one.finding: amount_words(one) for one in sealed.differences}
    return tuple(_part(name, now, then, label=_label(name), aside=_default(name)) for name in {**now, **then})


def _part(
    name: str,
    now: dict[str, str],
    then: dict[str, str],
    *,
    label: str = "",
    share: float | None = None,
    aside: str = "",
) -> BriefLine:
    words, before = now.get(name, NOT_THERE), then.get(name, NOT_THERE)
    return BriefLine(label or name, words, before if before != words else "", share, aside)


def _label(finding: str) -> str:
    return METRICS[finding].label if finding in METRICS else finding


def _default(finding: str) -> str:
    metric = METRICS.get(finding)
    if metric is None or metric.margin is None:
        return ""
    unit = "%" if metric.margin_is_relative else metric.unit
    usual = round(100 * metric.margin.value, 9) if metric.margin_is_relative else metric.margin.value
    return f"default {usual:g} {unit}"


def _changes(changes: Sequence[BriefChange], zone: str) -> tuple[ChangeGroup, ...]:
    """The latest first; what was changed in one go carries one moment."""
    acts = [tuple(act) for _, act in groupby(changes, key=lambda one: one.at)]
    return tuple(
        ChangeGroup(
            when=moment_words(act[0].at, time_zone=zone),
            when_iso=act[0].at.isoformat(),
            by=act[0].by,
            why=act[0].why,
            lines=tuple(ChangeLine(_what(one), one.before, one.after) for one in act),
        )
        for act in reversed(acts)
    )


def _what(one: BriefChange) -> str:
    label = LABELS.get(one.field, one.field)
    name = _label(one.part) if one.field == "differences" else one.part
    told = f"{label}: {name}" if name else label
    return told[:1].upper() + told[1:]
