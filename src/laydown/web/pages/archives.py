"""A trial out as one archive, and an archive in."""

from __future__ import annotations

import re
import tempfile
from collections.abc import Iterator
from typing import IO, Annotated

from fastapi import APIRouter, Depends, Request
from starlette.responses import HTMLResponse, RedirectResponse, Response, StreamingResponse

from laydown.kernel.errors import BadSetting, LaydownError
from laydown.records.look import Look
from laydown.records.trial_facts import load_facts
from laydown.usecases.archives.export_trial import export_trial
from laydown.usecases.archives.import_trial import import_trial
from laydown.usecases.archives.trial_content import trial_content
from laydown.web.desk import desk_of
from laydown.web.forms import Form, done, posted
from laydown.web.people import allow, person_of
from laydown.web.rendering import page
from laydown.web.views.archives import ArchiveView, TakeInView
from laydown.web.views.trial_frame import trial_frame

router = APIRouter(dependencies=[Depends(allow())])
_PIECE = 2**20
_IN_MEMORY = 8 * 2**20


@router.get("/trials/{trial_id}/archive")
def archive(request: Request, trial_id: str) -> HTMLResponse:
    """What an archive of the trial would hold, and for whom."""
    records = desk_of(request).records
    with records.look() as look:
        view = _view(look, trial_id, request)
    return page(request, "archive.html", view)


@router.get("/trials/{trial_id}/archive.zip")
def download(request: Request, trial_id: str, sharing: bool = False) -> Response:
    """The archive; with ``sharing`` without prices and the client's name."""
    records = desk_of(request).records
    with records.look() as look:
        name = load_facts(look, trial_id).trial.name
    made = tempfile.SpooledTemporaryFile(max_size=_IN_MEMORY)  # noqa: SIM115 - closed when it has been sent
    try:
        export_trial(records, trial_id, made, for_others=sharing)
        made.seek(0)
    except BaseException:
        made.close()
        raise
    title = re.sub(r"[^A-Za-z0-9]+", "-", name).strip("-").lower()[:60] or "trial"
    headers = {"Content-Disposition": f'attachment; filename="{title}.laydown.zip"'}
    return StreamingResponse(_pieces(made), media_type="application/zip", headers=headers)


@router.get("/archives/take-in")
def ask(request: Request) -> HTMLResponse:
    """Choose an archive."""
    return page(request, "take_in.html", TakeInView(trouble=""))


@router.post("/archives/take-in")
def take_in(request: Request, form: Annotated[Form, Depends(posted)]) -> Response:
    """Take an archive in: everything or nothing."""
    try:
        files = form.files("archive")
        if not files:
            raise BadSetting("no archive was chosen.", todo="Choose a file that ends in .laydown.zip.")
        acted = import_trial(
            desk_of(request).records,
            files[0].file,
            file=files[0].filename or "archive",
            who=person_of(request).name,
        )
    except LaydownError as error:
        return page(request, "take_in.html", TakeInView(trouble=str(error)), status=422)
    answer: RedirectResponse = done(f"/trials/{acted.thing.trial.id}", acted.entry_id)
    return answer


def _pieces(made: IO[bytes]) -> Iterator[bytes]:
    with made:
        while piece := made.read(_PIECE):
            yield piece


def _view(look: Look, trial_id: str, request: Request) -> ArchiveView:
    content = trial_content(look, trial_id, for_others=False)
    facts = content.facts
    return ArchiveView(
        frame=trial_frame(facts, now=desk_of(request).records.now()),
        holds=(
            f"{len(facts.candidates)} candidates",
            f"{len(facts.sheets)} sheets and what happened to them",
            f"{len(facts.readings)} readings, each as it came and as CGATS and CSV",
            f"{len(content.files)} files in all",
        ),
        trial_id=trial_id,
    )
