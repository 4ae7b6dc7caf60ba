"""A scan of a form, and what it shows."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime

from markupsafe import Markup

from laydown.report.form_map import form_map_svg
from laydown.report.form_scan_words import found_words
from laydown.science.forms.located_page import Region
from laydown.science.forms.placing import NotPlaced
from laydown.trials.facts import TrialFacts
from laydown.usecases.forms.locate_scan import FoundPage
from laydown.web.views.trial_frame import TrialFrame, trial_frame

_NOTHING = Markup()


@dataclass(frozen=True, slots=True)
class DoubtRow:
    """Elements of one kind that must not be measured in the scan, and why."""

    kind: str
    names: str
    why: str


@dataclass(frozen=True, slots=True)
class FormScanView:
    """The page. ``refusal`` is why no page was found; ``map_svg`` is empty before a scan was looked at."""

    frame: TrialFrame
    trial_id: str
    forms: tuple[str, ...]
    file_name: str = ""
    refusal: str = ""
    words: tuple[str, ...] = ()
    map_svg: Markup = _NOTHING
    doubts: tuple[DoubtRow, ...] = ()
    ppi: str = ""


def form_scan_view(
    facts: TrialFacts,
    *,
    now: datetime,
    found: FoundPage | NotPlaced | None = None,
    file_name: str = "",
    refusal: str = "",
    ppi: str = "",
) -> FormScanView:
    """The page, before or after a scan was looked at."""
    base = FormScanView(
        frame=trial_frame(facts, now=now, here="measure"),
        trial_id=facts.trial.id,
        forms=tuple(form.code for form in facts.forms),
        file_name=file_name,
        refusal=refusal,
        ppi=ppi,
    )
    if found is None:
        return base
    if isinstance(found, NotPlaced):
        return replace(base, refusal=f"{found.reason} {found.todo}")
    doubted = [one for one in found.located.regions if one.doubt]
    used = {str(number) for number in found.located.placement.marks}
    lost = [one.name for one in found.geometry.marks if str(one.facts.get("number")) not in used]
    return replace(
        base,
        words=found_words(found),
        map_svg=Markup(
            form_map_svg(found.geometry, doubted={(one.kind, one.name) for one in doubted}, lost_marks=lost)
        ),
        doubts=_rows(doubted),
    )


def _rows(doubted: Sequence[Region]) -> tuple[DoubtRow, ...]:
    grouped: dict[tuple[str, str], list[str]] = {}
    for one in doubted:
        grouped.setdefault((one.kind, one.doubt), []).append(one.name)
    return tuple(
        DoubtRow(kind, ", ".join(names[:6]) + (f" and {len(names) - 6} more" if len(names) > 6 else ""), why)
        for (kind, why), names in grouped.items()
    )
