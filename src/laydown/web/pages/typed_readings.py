"""Readings typed in from an instrument's display, for a studio without files to hand in."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping
from typing import Annotated, Literal, cast

from fastapi import APIRouter, Depends, Request
from starlette.responses import HTMLResponse, Response

from laydown.kernel.errors import BadSetting, LaydownError, UnknownRecord
from laydown.records.trial_facts import STUDIO_ID, load_facts
from laydown.trials.sheets import Sheet
from laydown.trials.studio import Studio
from laydown.usecases.measuring.type_reading import type_reading
from laydown.usecases.measuring.typed_patches import PATCHES, Typed, Zero, doubtful
from laydown.web.desk import desk_of
from laydown.web.forms import Form, done, posted
from laydown.web.people import allow, person_of
from laydown.web.rendering import page
from laydown.web.views.typed_readings import FORMS, ONLY_TWO, typed_view

router = APIRouter(dependencies=[Depends(allow("bench"))])
CONDITIONS = ("", "M0", "M1", "M2", "M3")
BACKINGS = ("", "white", "black")
STATUSES = ("", "T", "A", "E", "M", "I")
COLORIMETRY = ("", "D50/2", "D50/10", "D65/2", "D65/10")
FIELDS = (
    "sheet", "measurement", "backing", "status", "zero", "colorimetry", "instrument", "at",
)  # fmt: skip
KindOfForm = Literal["visual", "densities", "Lab"]


@router.get("/trials/{trial_id}/typed")
def typed(request: Request, trial_id: str, sheet: str = "", form: KindOfForm = "visual") -> HTMLResponse:
    """The form: two visual densities, densities through every filter, or Lab."""
    return _show(request, trial_id, form, {"sheet": sheet})


@router.post("/trials/{trial_id}/typed")
def keep(request: Request, trial_id: str, form: Annotated[Form, Depends(posted)]) -> Response:
    """Keep what was typed as a reading."""
    records = desk_of(request).records
    kind = cast("KindOfForm", form.choice("form", tuple(FORMS), "the form"))
    values = {name: form.text(name) for name in (*FIELDS, *_cells(kind))}
    told: Typed | None = None
    try:
        with records.look() as look:
            studio = look.seek(Studio, STUDIO_ID) or Studio(id=STUDIO_ID)
            if look.get(Sheet, form.must("sheet", "the sheet")).trial_id != trial_id:
                raise UnknownRecord("there is no such sheet in this trial.", todo="Open the page again.")
        told = _typed(form, kind, studio)
        acted = type_reading(
            records,
            form.text("sheet"),
            told,
            who=person_of(request).name,
            confirmed=form.flag("confirmed"),
        )
    except UnknownRecord:
        raise
    except LaydownError as error:
        asks = told is not None and "look again" in error.what and bool(doubtful(told))
        return _show(request, trial_id, kind, values, problem=error, ask_again=asks)
    return done(f"/trials/{trial_id}/measure", acted.entry_id)


def _cells(kind: KindOfForm) -> list[str]:
    patches = [patch.id for patch in PATCHES if kind != "visual" or patch.id in ONLY_TWO]
    return [f"{patch}.{column}" for patch in patches for column in FORMS[kind][1]]


def _typed(form: Form, kind: KindOfForm, studio: Studio) -> Typed:
    numbers: dict[str, dict[str, float]] = defaultdict(dict)
    labels = {patch.id: patch.label for patch in PATCHES}
    for cell in _cells(kind):
        patch, _, column = cell.partition(".")
        value = form.number(cell, f"{labels[patch]}, {column}", low=-1000.0, high=1000.0)
        if value is not None:
            numbers[patch][column] = value
    if not numbers:
        raise BadSetting("nothing was typed.", todo="Type at least the bare medium and black.")
    return Typed(
        kind="Lab" if kind == "Lab" else "densities",
        values=dict(numbers),
        measurement=form.choice("measurement", CONDITIONS, "the measuring condition"),
        backing=form.choice("backing", BACKINGS, "the backing"),
        status=form.choice("status", STATUSES, "the status") if kind == "densities" else "",
        zero=cast("Zero", form.choice("zero", ("absolute", "paper"), "the zero"))
        if kind != "Lab"
        else "absolute",
        colorimetry=form.choice("colorimetry", COLORIMETRY, "the illuminant") if kind == "Lab" else "",
        instrument=form.text("instrument")[:200],
        measured_at=form.moment("at", "when it was measured", studio=studio),
    )


def _show(
    request: Request,
    trial_id: str,
    kind: KindOfForm,
    values: Mapping[str, str],
    *,
    problem: LaydownError | None = None,
    ask_again: bool = False,
) -> HTMLResponse:
    records = desk_of(request).records
    with records.look() as look:
        view = typed_view(
            load_facts(look, trial_id),
            now=records.now(),
            form=kind,
            values=values,
            problem=str(problem) if problem else "",
            ask_again=ask_again,
        )
    return page(request, "typed_readings.html", view, status=422 if problem else 200)
