"""What the coats of a trial did, in words."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from laydown.report.wording import (
    CALL_WORDS,
    call_mark,
    difference_text,
    number,
    sheets_words,
    unit_words,
)
from laydown.trials.facts import TrialFacts
from laydown.usecases.comparison import Comparison, Finding
from laydown.usecases.measuring.coat_effect import BETWEEN_ARMS, CoatChange, CoatEffect, coat_effects
from laydown.usecases.measuring.gloss_of_coat import GlossChange
from laydown.web.views.trial_frame import TrialFrame, trial_frame


@dataclass(frozen=True, slots=True)
class ChangeView:
    """One finding before and after, the change with its interval, its call, and how it was got."""

    label: str
    before: str
    after: str
    change: str
    mark: str
    call: str
    how: str
    paired: bool


@dataclass(frozen=True, slots=True)
class EffectView:
    """What a coat did to one medium; ``gloss`` is empty where none was read."""

    candidate: str
    coat: str
    changes: tuple[ChangeView, ...]
    gloss: tuple[ChangeView, ...]


@dataclass(frozen=True, slots=True)
class CoatEffectView:
    """The page. ``any_paired`` says that sheets were set against themselves."""

    frame: TrialFrame
    trial_id: str
    condition: str
    effects: tuple[EffectView, ...]
    any_paired: bool
    cautions: tuple[str, ...]
    comparison_href: str


def coat_effect_view(
    facts: TrialFacts, comparison: Comparison, *, now: datetime, comparison_href: str
) -> CoatEffectView:
    """The page, from the comparison of coated and uncoated prints."""
    effects = coat_effects(facts, comparison)
    return CoatEffectView(
        frame=trial_frame(facts, now=now, here="measure"),
        trial_id=facts.trial.id,
        condition=comparison.condition,
        effects=tuple(_effect(one) for one in effects),
        any_paired=any(
            any(change.paired for change in one.changes) or any(change.paired for change in one.gloss)
            for one in effects
        ),
        cautions=comparison.cautions,
        comparison_href=comparison_href,
    )


def _effect(one: CoatEffect) -> EffectView:
    changes, gloss = tuple(map(_change, one.changes)), tuple(map(_gloss_change, one.gloss))
    return EffectView(one.candidate, one.coat, changes, gloss)


def _gloss_change(change: GlossChange) -> ChangeView:
    """Gloss under one angle; the angle, the meter and how many sheets stand with it."""
    difference = change.difference
    label = f"{change.under.label}, {change.under.angle}°"
    if difference is None:
        bare = sheets_words(change.before.n) if change.before else "none"
        why = f"too few: {bare} uncoated, {sheets_words(change.after.n)} coated; two of each are needed"
        before, after = _value(change.before), _value(change.after)
        return ChangeView(label, before, after, "nothing can be said", "", "", why, False)
    if change.paired:
        how = f"the same {change.pairs} sheets before and after coating"
    else:
        bare = sheets_words(change.before.n if change.before else 0)
        how = f"{BETWEEN_ARMS}, {sheets_words(change.after.n)} and {bare}"
    return ChangeView(
        label=label,
        before=_value(change.before),
        after=_value(change.after),
        change=difference_text(difference),
        mark=call_mark(difference),
        call=CALL_WORDS[difference.call],
        how=f"{difference.condition}; {how}",
        paired=change.paired,
    )


def _change(change: CoatChange) -> ChangeView:
    difference = change.difference
    if difference is None or difference.refused:
        why = difference.reason if difference else change.how
        return ChangeView(
            change.label, _value(change.before), _value(change.after), "cannot be said", "?", why, "", False
        )
    return ChangeView(
        label=change.label,
        before=_value(change.before),
        after=_value(change.after),
        change=difference_text(difference),
        mark=call_mark(difference),
        call=CALL_WORDS[difference.call],
        how=change.how,
        paired=change.paired,
    )


def _value(finding: Finding | None) -> str:
    if finding is None:
        return "not measured"
    value = number(finding.value, finding.decimals)
    return f"{value} {unit_words(finding.unit)}" if value else "not measured"
