"""Find the page of a form in a scan that is handed in."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Depends, Request
from starlette.responses import HTMLResponse

from laydown.kernel.errors import LaydownError
from laydown.records.trial_facts import load_facts
from laydown.usecases.forms.forms_of_trial import forms_of_trial, read_geometry
from laydown.usecases.forms.locate_scan import locate_scan
from laydown.usecases.trial.attach_file import plain_name
from laydown.web.desk import desk_of
from laydown.web.forms import Form, posted
from laydown.web.people import allow
from laydown.web.rendering import page
from laydown.web.views.form_scan import form_scan_view

router = APIRouter(dependencies=[Depends(allow("bench"))])


@router.get("/trials/{trial_id}/form-scan")
def form_scan(request: Request, trial_id: str) -> HTMLResponse:
    """Where a scan is handed in."""
    records = desk_of(request).records
    with records.look() as look:
        facts = load_facts(look, trial_id)
    return page(request, "form_scan.html", form_scan_view(facts, now=records.now()))


@router.post("/trials/{trial_id}/form-scan")
def look_at_scan(request: Request, trial_id: str, form: Annotated[Form, Depends(posted)]) -> HTMLResponse:
    """What a scan shows; the scan itself is not kept."""
    records = desk_of(request).records
    with records.look() as look:
        facts = load_facts(look, trial_id)
    handed = form.files("files")
    name = plain_name(handed[0].filename or "") if handed else ""
    typed = form.text("ppi")
    try:
        ppi = form.number("ppi", "The resolution", low=50, high=9600)
        if not handed:
            refusal = "No scan was chosen. Choose a TIFF, PNG or JPEG file."
            view = form_scan_view(facts, now=records.now(), refusal=refusal, ppi=typed)
            return page(request, "form_scan.html", view, status=422)
        pages = [
            one for kept in forms_of_trial(records, trial_id).all for one in read_geometry(records, kept)
        ]
        found = locate_scan(handed[0].file, pages, name=name, ppi=ppi)
    except LaydownError as error:
        view = form_scan_view(facts, now=records.now(), file_name=name, refusal=str(error), ppi=typed)
        return page(request, "form_scan.html", view, status=422)
    view = form_scan_view(facts, now=records.now(), found=found, file_name=name, ppi=typed)
    return page(request, "form_scan.html", view, status=422 if view.refusal else 200)
