"""Notes about files of the watched folder that could not be used."""

from __future__ import annotations

from fastapi import APIRouter, Depends, Request
from starlette.responses import RedirectResponse

from laydown.kernel.errors import UnknownRecord
from laydown.trials.remarks import Note
from laydown.usecases.measuring.watch_folder import dismiss_note
from laydown.web.desk import desk_of
from laydown.web.forms import done, posted
from laydown.web.people import allow, person_of

router = APIRouter(dependencies=[Depends(allow("bench"))])


@router.post("/trials/{trial_id}/measure/folder/{note_id}/dismiss", dependencies=[Depends(posted)])
def dismiss(request: Request, trial_id: str, note_id: str) -> RedirectResponse:
    """Take a note about a file away; the file itself is left alone."""
    records = desk_of(request).records
    with records.look() as look:
        if look.get(Note, note_id).trial_id != trial_id:
            raise UnknownRecord("there is no such note in this trial.", todo="Open the page again.")
    entry_id = dismiss_note(records, note_id, who=person_of(request).name)
    return done(f"/trials/{trial_id}/measure", entry_id, at="folder")
