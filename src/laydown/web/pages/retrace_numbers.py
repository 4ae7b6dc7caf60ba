"""A studio's own numbers about faults: take a file in, give the packaged ones out to start from."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Depends, Request
from starlette.responses import HTMLResponse, Response

from laydown.kernel.errors import BadSetting, LaydownError, TooLarge
from laydown.science.faults.parsing import MOST_BYTES
from laydown.usecases.retracing.own_faults import drop_own_faults, keep_own_faults, packaged_file
from laydown.web.desk import desk_of
from laydown.web.forms import Form, done, posted
from laydown.web.people import allow, person_of
from laydown.web.rendering import page
from laydown.web.views.retraces import own_numbers_view

router = APIRouter(dependencies=[Depends(allow())])
_HERE = "/retraces/numbers"


@router.get(_HERE)
def show(request: Request) -> HTMLResponse:
    """What numbers causes are ranked by."""
    return _show(request)


@router.post(_HERE, response_model=None)
def take_in(request: Request, form: Annotated[Form, Depends(posted)]) -> Response:
    """Take a file of own numbers in, in place of the one before; a file with a mistake changes nothing."""
    try:
        files = form.files("numbers")
        if not files:
            raise BadSetting("no file was chosen.", todo="Choose a JSON file of your own numbers.")
        content = files[0].file.read(int(MOST_BYTES.value) + 1)
        if len(content) > MOST_BYTES.value:
            raise TooLarge("this file is far larger than any list of faults.", todo="Choose another.")
        acted = keep_own_faults(desk_of(request).records, content, who=person_of(request).name)
    except LaydownError as error:
        return _show(request, trouble=str(error))
    return done(_HERE, acted.entry_id)


@router.post(f"{_HERE}/drop", dependencies=[Depends(posted)])
def drop(request: Request) -> Response:
    """Go back to the numbers that come with Laydown."""
    acted = drop_own_faults(desk_of(request).records, who=person_of(request).name)
    return done(_HERE, acted.entry_id)


@router.get(f"{_HERE}/packaged.json")
def packaged() -> Response:
    """Everything that comes with Laydown, to start one's own from."""
    headers = {"Content-Disposition": 'attachment; filename="laydown-faults.json"'}
    return Response(packaged_file(), media_type="application/json", headers=headers)


def _show(request: Request, *, trouble: str = "") -> HTMLResponse:
    with desk_of(request).records.look() as look:
        view = own_numbers_view(look, trouble=trouble)
    return page(request, "retrace_numbers.html", view, status=422 if trouble else 200)
