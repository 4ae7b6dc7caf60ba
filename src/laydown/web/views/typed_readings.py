"""The form for readings that are typed in from an instrument's display."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime

from laydown.report.moments import moment_field
from laydown.trials.facts import TrialFacts
from laydown.usecases.measuring.typed_patches import FILTERS, LAB, PATCHES
from laydown.web.views.reading_lines import sheet_choices
from laydown.web.views.trial_frame import TrialFrame, trial_frame

# What the form asks for: all of Lab, densities through every filter, or two visual densities and no more.
FORMS: Mapping[str, tuple[str, tuple[str, ...]]] = {
    "visual": ("Two visual densities", ("V",)),
    "densities": ("Densities, V C M Y", tuple(FILTERS)),
    "Lab": ("Lab values", LAB),
}
ONLY_TWO = ("white", "black")
COLUMN_WORDS = {"V": "visual", "C": "red filter", "M": "green filter", "Y": "blue filter"}


@dataclass(frozen=True, slots=True)
class CellView:
    """One field of the table."""

    name: str
    label: str
    value: str


@dataclass(frozen=True, slots=True)
class RowView:
    """One patch."""

    label: str
    rgb: str
    cells: tuple[CellView, ...]


@dataclass(frozen=True, slots=True)
class TypedView:
    """The form. ``ask_again`` shows the box that says it is typed as it was read."""

    frame: TrialFrame
    trial_id: str
    problem: str
    form: str
    forms: tuple[tuple[str, str], ...]
    choices: tuple[tuple[str, str], ...]
    columns: tuple[tuple[str, str], ...]
    rows: tuple[RowView, ...]
    values: Mapping[str, str]
    ask_again: bool


def typed_view(
    facts: TrialFacts,
    *,
    now: datetime,
    form: str,
    values: Mapping[str, str],
    problem: str = "",
    ask_again: bool = False,
) -> TypedView:
    """The form of a trial; ``values`` holds what stands in its fields."""
    columns = FORMS[form][1]
    rows = tuple(
        RowView(
            label=patch.label,
            rgb="RGB " + " ".join(map(str, patch.rgb)),
            cells=tuple(
                CellView(
                    f"{patch.id}.{column}", f"{patch.label}, {column}", values.get(f"{patch.id}.{column}", "")
                )
                for column in columns
            ),
        )
        for patch in PATCHES
        if form != "visual" or patch.id in ONLY_TWO
    )
    return TypedView(
        frame=trial_frame(facts, now=now, here="measure"),
        trial_id=facts.trial.id,
        problem=problem,
        form=form,
        forms=tuple((name, words) for name, (words, _) in FORMS.items()),
        choices=sheet_choices(facts),
        columns=tuple((column, COLUMN_WORDS.get(column, "")) for column in columns),
        rows=rows,
        values={"at": moment_field(now, time_zone=facts.studio.time_zone), "zero": "absolute", **values},
        ask_again=ask_again,
    )
