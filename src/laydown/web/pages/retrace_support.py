"""A file for the supplier: what goes in and what stays, then the file."""

from __future__ import annotations

import tempfile
from collections.abc import Iterator
from typing import IO

from fastapi import APIRouter, Depends, Request
from starlette.responses import HTMLResponse, StreamingResponse

from laydown.usecases.archives.support_file import support_file
from laydown.web.desk import desk_of
from laydown.web.people import allow
from laydown.web.rendering import page
from laydown.web.views.retrace_support import support_view

router = APIRouter(dependencies=[Depends(allow("bench"))])
_PIECE = 2**20
_IN_MEMORY = 8 * 2**20


@router.get("/retraces/{retrace_id}/support")
def ask(request: Request, retrace_id: str, named: bool = False) -> HTMLResponse:
    """Exactly what would go in, to be read before it is sent."""
    with desk_of(request).records.look() as look:
        view = support_view(look, retrace_id, keep_trial_name=named)
    return page(request, "retrace_support.html", view)


@router.get("/retraces/{retrace_id}/support.zip")
def save(request: Request, retrace_id: str, named: bool = False) -> StreamingResponse:
    """The file itself."""
    made = tempfile.SpooledTemporaryFile(max_size=_IN_MEMORY)  # noqa: SIM115 - closed when it has been sent
    try:
        support_file(desk_of(request).records, retrace_id, made, keep_trial_name=named)
        made.seek(0)
    except BaseException:
        made.close()
        raise
    # The title may name what the file itself leaves out, so that it stays out of the name, too.
    headers = {"Content-Disposition": 'attachment; filename="bad-print.laydown-support.zip"'}
    return StreamingResponse(_pieces(made), media_type="application/zip", headers=headers)


def _pieces(made: IO[bytes]) -> Iterator[bytes]:
    with made:
        while piece := made.read(_PIECE):
            yield piece
