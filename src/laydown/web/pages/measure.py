"""The measuring station: files handed in, readings placed, timed, set aside and brought back, the chart."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime
from typing import Annotated, Literal

from fastapi import APIRouter, Depends, Request
from starlette.responses import HTMLResponse, RedirectResponse, Response

from laydown.kernel.errors import LaydownError, RefusedInput, TooLarge, UnknownRecord
from laydown.records.folder_watcher import LARGEST
from laydown.records.trial_facts import STUDIO_ID, load_facts
from laydown.trials.measured import Reading
from laydown.trials.studio import Studio
from laydown.usecases.acted import Acted
from laydown.usecases.measuring.attach_readings import NotTaken, TakenIn, attach_readings
from laydown.usecases.measuring.chart_of_trial import chart_from_reading, check_again, set_chart
from laydown.usecases.measuring.parsed_file import HandedIn
from laydown.usecases.measuring.place_reading import place_reading, time_reading
from laydown.usecases.measuring.set_aside import bring_back, set_aside
from laydown.web.desk import desk_of
from laydown.web.disposition import disposition
from laydown.web.forms import Form, done, posted
from laydown.web.passed_over import why_passed_over
from laydown.web.people import allow, person_of
from laydown.web.rendering import page
from laydown.web.views.measure import DropReport, measure_view
from laydown.web.views.one_reading import one_reading_view

MOST_TOGETHER = 512 * 2**20
LARGEST_MB = int(LARGEST.value) // 2**20
CHECKED = "All readings were held against the chart and each other again. Nothing new looks wrong."


def refuse_too_much(request: Request) -> None:
    """Refuse a drop larger than any day's readings before it is received."""
    length = request.headers.get("content-length", "0")
    if not length.isdigit() or int(length) > MOST_TOGETHER:
        raise TooLarge(
            f"all files together are larger than {MOST_TOGETHER // 2**20} MB.",
            todo="Hand in fewer at a time.",
        )


router = APIRouter(dependencies=[Depends(allow("bench"))])
Posted = Annotated[Form, Depends(posted)]


@router.get("/trials/{trial_id}/measure")
def measure(request: Request, trial_id: str, said: Literal["", "checked"] = "") -> HTMLResponse:
    """Which sheets wait to be measured, and where every reading stands."""
    return show_station(request, trial_id, said=CHECKED if said else "")


@router.post("/trials/{trial_id}/measure/files", dependencies=[Depends(refuse_too_much)])
def receive(request: Request, trial_id: str, form: Posted) -> Response:
    """Take files in; what could not be kept is told of on the page that answers."""
    records, who = desk_of(request).records, person_of(request).name
    try:
        handed, left = _handed_in(form)
        if not handed and not left:
            raise RefusedInput("no file was chosen.", todo="Choose the files your instrument wrote.")
        sheet_id = form.text("sheet")
        taken = attach_readings(
            records,
            trial_id,
            handed,
            who=who,
            how="in print order" if sheet_id == "order" else "by name",
            sheet_id=sheet_id if sheet_id not in ("", "order") else None,
            measured_at=_moment(request, form),
        )
    except UnknownRecord:
        raise
    except LaydownError as error:
        return show_station(request, trial_id, problem=error, form=form)
    left += taken.thing.not_taken
    if not left:
        return done(f"/trials/{trial_id}/measure", taken.entry_id)
    return show_station(request, trial_id, report=_report(taken, left), form=form)


@router.get("/trials/{trial_id}/readings/{reading_id}")
def one_reading(request: Request, trial_id: str, reading_id: str) -> HTMLResponse:
    """What is in one reading's file, and what may be done with it."""
    return show_reading(request, trial_id, reading_id)


@router.get("/trials/{trial_id}/readings/{reading_id}/file")
def download(request: Request, trial_id: str, reading_id: str, mended: bool = False) -> Response:
    """The file as it was handed in, or its mended copy."""
    with desk_of(request).records.look() as look:
        reading = reading_of(look.get(Reading, reading_id), trial_id)
        if mended and not reading.mended_sha256:
            raise UnknownRecord("this reading was not mended.", todo="Take the file itself.")
        content = look.read_file(reading.mended_sha256 if mended else reading.file_sha256)
    name = reading.file_name.rpartition("/")[2]
    told = disposition(f"{'mended ' if mended else ''}{name}", shown=False)
    return Response(content, media_type="application/octet-stream", headers={"Content-Disposition": told})


@router.post("/trials/{trial_id}/readings/{reading_id}/change")
def change(request: Request, trial_id: str, reading_id: str, form: Posted) -> Response:
    """Place a reading, say when it was taken, set it aside or bring it back."""
    try:
        with desk_of(request).records.look() as look:
            reading_of(look.get(Reading, reading_id), trial_id)
        acted = _changed(request, reading_id, form)
    except UnknownRecord:
        raise
    except LaydownError as error:
        if form.text("back") == "station":
            return show_station(request, trial_id, problem=error)
        return show_reading(request, trial_id, reading_id, problem=error)
    where = "measure" if form.text("back") == "station" else f"readings/{reading_id}"
    return done(f"/trials/{trial_id}/{where}", acted.entry_id)


@router.post("/trials/{trial_id}/chart", dependencies=[Depends(refuse_too_much)])
def chart(request: Request, trial_id: str, form: Posted) -> Response:
    """The chart all sheets carry: an uploaded file, or that of a reading."""
    records, who = desk_of(request).records, person_of(request).name
    try:
        if reading_id := form.text("reading"):
            with records.look() as look:
                reading_of(look.get(Reading, reading_id), trial_id)
            acted = chart_from_reading(records, reading_id, who=who)
        else:
            files, _ = _handed_in(form)
            if not files:
                raise RefusedInput("no file was chosen.", todo="Choose the chart's reference file.")
            acted = set_chart(records, trial_id, files[0], who=who)
    except UnknownRecord:
        raise
    except LaydownError as error:
        return show_station(request, trial_id, problem=error)
    return done(f"/trials/{trial_id}/measure", acted.entry_id, at="chart")


@router.post("/trials/{trial_id}/measure/check", dependencies=[Depends(posted)])
def check(request: Request, trial_id: str) -> Response:
    """Hold all readings against the chart and each other again."""
    try:
        acted = check_again(desk_of(request).records, trial_id, who=person_of(request).name)
    except UnknownRecord:
        raise
    except LaydownError as error:
        return show_station(request, trial_id, problem=error)
    if not acted.entry_id:  # nothing was written, so there is nothing to undo
        return RedirectResponse(f"/trials/{trial_id}/measure?said=checked", status_code=303)
    return done(f"/trials/{trial_id}/measure", acted.entry_id)


def show_station(
    request: Request,
    trial_id: str,
    *,
    problem: LaydownError | None = None,
    report: DropReport | None = None,
    form: Form | None = None,
    said: str = "",
) -> HTMLResponse:
    """The station; with why a form was refused, or what became of a drop not all of which was kept."""
    records = desk_of(request).records
    with records.look() as look:
        view = measure_view(
            look,
            load_facts(look, trial_id),
            now=records.now(),
            largest_mb=LARGEST_MB,
            problem=str(problem) if problem else "",
            report=report,
            said=said,
            typed={name: form.text(name) for name in ("sheet", "at")} if form else None,
        )
    return page(request, "measure.html", view, status=422 if problem or report else 200)


def show_reading(
    request: Request, trial_id: str, reading_id: str, *, problem: LaydownError | None = None
) -> HTMLResponse:
    """The page of one reading; with why a form was refused."""
    records = desk_of(request).records
    with records.look() as look:
        reading = reading_of(look.get(Reading, reading_id), trial_id)
        view = one_reading_view(
            look,
            load_facts(look, trial_id),
            reading,
            now=records.now(),
            problem=str(problem) if problem else "",
        )
    return page(request, "one_reading.html", view, status=422 if problem else 200)


def reading_of(reading: Reading, trial_id: str) -> Reading:
    """The reading, if it is one of the trial.

    Raises
    ------
    UnknownRecord
        It is one of another trial.
    """
    if reading.trial_id != trial_id:
        raise UnknownRecord("there is no such reading in this trial.", todo="Open the page again.")
    return reading


def _changed(request: Request, reading_id: str, form: Form) -> Acted[Reading]:
    records, who = desk_of(request).records, person_of(request).name
    seen = form.whole("seen", "the page's number", low=0, high=10**12)
    what = form.choice("what", ("place", "time", "set aside", "bring back"), "what to do")
    if what == "place":
        return place_reading(records, reading_id, form.text("sheet") or None, who=who, seen=seen)
    if what == "time":
        return time_reading(records, reading_id, _moment(request, form), who=who, seen=seen)
    if what == "set aside":
        return set_aside(records, reading_id, why=form.text("why"), who=who, seen=seen)
    return bring_back(records, reading_id, who=who, seen=seen)


def _handed_in(form: Form) -> tuple[list[HandedIn], list[NotTaken]]:
    """The files of a form that may be readings; the others with the reason."""
    handed, left = [], []
    for file in form.files("files"):
        name = file.filename or "a file without a name"
        if why := why_passed_over(name):
            left.append(NotTaken(name, f"{name}: {why}."))
        elif (file.size or 0) > LARGEST.value:
            left.append(
                NotTaken(name, f"{name}: it is larger than {LARGEST_MB} MB, far more than any reading.")
            )
        else:
            handed.append(HandedIn(name, file.file.read()))
    return handed, left


def _moment(request: Request, form: Form) -> datetime | None:
    with desk_of(request).records.look() as look:
        studio = look.seek(Studio, STUDIO_ID) or Studio(id=STUDIO_ID)
    return form.moment("at", "when it was measured", studio=studio)


def _report(taken: Acted[TakenIn], left: Sequence[NotTaken]) -> DropReport:
    kept = len(taken.thing.readings)
    words = "Nothing was kept." if not kept else f"{kept} file{' was' if kept == 1 else 's were'} kept."
    return DropReport(words, taken.entry_id, tuple(left))
