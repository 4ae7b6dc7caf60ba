"""Builds the workbench; importing does nothing."""

from __future__ import annotations

from collections.abc import AsyncIterator, Callable, Collection, Sequence
from contextlib import asynccontextmanager
from importlib.util import find_spec
from pathlib import Path

from fastapi import Depends, FastAPI, Request
from starlette.concurrency import run_in_threadpool
from starlette.exceptions import HTTPException
from starlette.middleware import Middleware
from starlette.middleware.gzip import GZipMiddleware
from starlette.responses import FileResponse, JSONResponse, Response
from starlette.staticfiles import StaticFiles

from laydown.compute.runner import Runner, SerialRunner
from laydown.kernel.errors import LaydownError
from laydown.kernel.version import __version__
from laydown.records.ledger import Records
from laydown.records.measurement_files import MeasurementFile
from laydown.records.uploads import UploadStore
from laydown.usecases.compare_media import CompareOptions, compare_media
from laydown.web.api.interface import create_interface
from laydown.web.desk import Compare, Desk
from laydown.web.doorkeeper import Doorkeeper
from laydown.web.folder_watching import folder_watched
from laydown.web.network import Network
from laydown.web.pages import (
    archives,
    arranging,
    attachments,
    bench,
    board,
    brief,
    calendars,
    candidates,
    certificates,
    coat_effect,
    comparison,
    comparisons,
    deleting,
    deliveries,
    doubts,
    downloads,
    figures,
    folder_watch,
    form_design,
    form_files,
    form_roll,
    form_scan,
    forms,
    gloss,
    home,
    journal,
    measure,
    not_yet,
    notes,
    patches,
    people,
    plan,
    plan_calendar,
    plan_material,
    print_station,
    printers,
    receiving,
    recipes,
    retrace_numbers,
    retrace_support,
    retraces,
    search,
    settle,
    sheets,
    sign_in,
    stock,
    studio,
    trial,
    trial_comparisons,
    trials,
    typed_readings,
)
from laydown.web.people import allow
from laydown.web.rendering import page
from laydown.web.security import LOOPBACK_NAMES, Guard
from laydown.web.statuses import status_of
from laydown.web.views.trouble import TroubleView

STATIC = Path(__file__).parent / "static"
# Parts of the workbench: those of the owner, those that only show, and those that say themselves who may.
OWNERS_PAGES = (comparisons, receiving, arranging, deleting)
READING_PAGES = (downloads, figures, patches, comparison)
PAGES = (
    archives,
    attachments,
    bench,
    board,
    brief,
    calendars,
    candidates,
    certificates,
    coat_effect,
    deliveries,
    doubts,
    folder_watch,
    form_design,
    form_files,
    form_roll,
    form_scan,
    forms,
    gloss,
    home,
    journal,
    measure,
    not_yet,
    notes,
    people,
    plan,
    plan_calendar,
    plan_material,
    print_station,
    printers,
    recipes,
    retrace_numbers,
    retrace_support,
    retraces,
    search,
    settle,
    sheets,
    sign_in,
    stock,
    studio,
    trial_comparisons,
    typed_readings,
    trials,  # before "trial", whose addresses would take /trials/new for a trial
    trial,
)


def create_app(
    *,
    store: UploadStore,
    records: Records,
    secret: bytes,
    runner: Runner | None = None,
    compare: Compare = compare_media,
    demo: Callable[[], tuple[Sequence[MeasurementFile], CompareOptions]],
    hosts: Collection[str] = LOOPBACK_NAMES,
    network: Network | None = None,
) -> FastAPI:
    """The workbench as an application.

    Parameters
    ----------
    store
        Where uploads are kept.
    records
        Where trials are kept.
    secret
        Signs what pages send back; the same for every process that serves these records.
    runner
        Does the counting; here in this process where none is given.
    compare
        From files to a comparison; another one only in tests.
    demo
        Gives the files of the demo trial, on first need.
    hosts
        Names this server answers to besides those of the network.
    network
        How it is reached from the studio's network, where it serves that; then everybody signs in.

    Returns
    -------
    FastAPI
        Ready to be served.
    """

    @asynccontextmanager
    async def lifespan(_: FastAPI) -> AsyncIterator[None]:
        await run_in_threadpool(store.tidy)
        with folder_watched(records, store.folder):
            yield

    is_tls = network is not None and network.tls
    # The generated documentation pages load scripts from elsewhere; the guide describes the addresses.
    app = FastAPI(
        title="Laydown", version=__version__, docs_url=None, redoc_url=None, openapi_url=None,
        lifespan=lifespan,
        middleware=[
            Middleware(Guard, hosts={*hosts, *(network.hosts if network else ())}, tls=is_tls),
            Middleware(GZipMiddleware, minimum_size=2000),
            Middleware(Doorkeeper, records=records if network else None),
        ],
    )  # fmt: skip
    app.state.desk = Desk(
        store=store,
        records=records,
        secret=secret,
        runner=runner or SerialRunner(),
        compare=compare,
        demo=demo,
        lan=network is not None,
        reached_at=network.reached_at if network else "",
    )
    for part in OWNERS_PAGES:
        app.include_router(part.router, dependencies=[Depends(allow())])
    for part in READING_PAGES:
        app.include_router(part.router, dependencies=[Depends(allow("bench"))])
    for part in PAGES:
        app.include_router(part.router)
    app.mount("/api/v1", create_interface(app.state.desk), name="interface")
    app.mount("/static", StaticFiles(directory=STATIC), name="static")
    app.add_api_route("/library/plotly.min.js", _plotly, include_in_schema=False)
    app.add_exception_handler(LaydownError, _trouble)
    app.add_exception_handler(HTTPException, _trouble)
    return app


def _plotly() -> FileResponse:
    # Found without importing the package, which takes a second and is not needed to serve one file of it.
    spec = find_spec("plotly")
    if spec is None or not spec.submodule_search_locations:
        raise HTTPException(404, "The drawing library is not installed.")
    script = Path(spec.submodule_search_locations[0]) / "package_data" / "plotly.min.js"
    return FileResponse(
        script, media_type="text/javascript", headers={"Cache-Control": "private, max-age=86400"}
    )


async def _trouble(request: Request, error: Exception) -> Response:
    """Every refusal as a page or, where a script asked, as JSON."""
    status, sentence = status_of(error), str(error)
    if isinstance(error, HTTPException):
        status = error.status_code
        sentence = (
            "There is no such page." if status == 404 and error.detail == "Not Found" else str(error.detail)
        )
    if "text/html" in request.headers.get("accept", ""):
        return page(request, "trouble.html", TroubleView(status=status, sentence=sentence), status=status)
    return JSONResponse({"problem": sentence}, status_code=status)
