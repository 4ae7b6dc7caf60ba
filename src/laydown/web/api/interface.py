"""Builds the JSON interface as an application of its own, below /api/v1."""

from __future__ import annotations

from typing import Any

from fastapi import Depends, FastAPI, Request
from fastapi.exceptions import RequestValidationError
from starlette.exceptions import HTTPException
from starlette.responses import JSONResponse

from laydown.kernel.errors import LaydownError
from laydown.kernel.version import __version__
from laydown.web.api import bench, form_layout, forms, gloss, journal, measuring, people, stock, trials
from laydown.web.api.answers import Problem
from laydown.web.api.changing import check_change
from laydown.web.desk import Desk
from laydown.web.statuses import status_of

WORDS = """
Everything the pages show and do, for programs. Reading needs nothing on the studio's own computer, and a
signed-in session on the network. Whatever changes something carries the header `X-CSRF-Token` with the
word that `GET /me` gives, and `Origin` with this server's own address. Every change becomes one entry of
the journal; its `entry_id` comes back and can be undone at `/journal/{entry_id}/undo`. Times are in UTC
(ISO 8601), lengths in millimetres.
"""
_PROBLEMS: dict[int | str, dict[str, Any]] = {
    status: {"model": Problem, "description": words}
    for status, words in {
        400: "What was asked for cannot be done; the sentence says why and what to do.",
        401: "Nobody is signed in.",
        403: "This role may not do it, or the word of the session is missing.",
        404: "There is no such thing.",
        409: "Somebody changed it meanwhile, or the trial would contradict itself.",
        413: "Too large.",
        422: "The request is not what it should be.",
        507: "The disk is full or the database is out of reach; nothing was changed.",
    }.items()
}


def create_interface(desk: Desk) -> FastAPI:
    """The interface over the same desk as the pages."""
    interface = FastAPI(
        title="Laydown",
        summary="Trials of fine-art inkjet media",
        description=WORDS,
        version=__version__,
        docs_url=None,
        redoc_url=None,
        responses=_PROBLEMS,
        dependencies=[Depends(check_change)],
    )
    interface.state.desk = desk
    # "trials" comes last: its /trials/{trial_id}/{act} would take /trials/…/coat and /trials/…/readings.
    for part in (people, bench, measuring, gloss, form_layout, forms, stock, journal, trials):
        interface.include_router(part.router)
    interface.add_exception_handler(LaydownError, _problem)
    interface.add_exception_handler(HTTPException, _problem)
    interface.add_exception_handler(RequestValidationError, _not_understood)
    return interface


async def _problem(_: Request, error: Exception) -> JSONResponse:
    if isinstance(error, HTTPException):
        return JSONResponse({"problem": str(error.detail)}, error.status_code, headers=error.headers)
    return JSONResponse({"problem": str(error)}, status_of(error))


async def _not_understood(_: Request, error: Exception) -> JSONResponse:
    assert isinstance(error, RequestValidationError)
    first = error.errors()[0]
    where = ".".join(str(part) for part in first["loc"])
    return JSONResponse({"problem": f"{where}: {first['msg']}."}, 422)
