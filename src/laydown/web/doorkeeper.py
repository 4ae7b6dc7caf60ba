"""Says of every request who asks, before any page sees it; on the network, turns strangers away."""

from __future__ import annotations

from urllib.parse import quote

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import JSONResponse, RedirectResponse, Response
from starlette.types import ASGIApp, Receive, Scope, Send

from laydown.kernel.errors import CannotKeep
from laydown.records.ledger import Records
from laydown.usecases.people.sign_in import sitting_of
from laydown.web.people import OWNER_HERE, Person

COOKIE = "laydown-sitting"
# The pages a stranger may see: signing in, pairing, and what these pages are drawn with.
OPEN_TO_ALL = ("/sign-in", "/static/", "/pair/")


class Doorkeeper:
    """Puts who asks into ``request.state.person``.

    On this computer only (no ``records``) it is always the owner. On the studio's network it is whoever sits
    at the browser; others get the sign-in page and nothing else.
    """

    def __init__(self, app: ASGIApp, *, records: Records | None = None) -> None:
        self.app = app
        self.records = records

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Pass a request on with who asks, or turn it away."""
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return
        # As it will be routed: an address put together from headers could name another page.
        request, path = Request(scope), scope["path"]
        refusal: Response | None = None
        try:
            person = await self._person(request)
        except CannotKeep as error:
            person, refusal = None, JSONResponse({"problem": str(error)}, 503)
        if person is not None:
            scope.setdefault("state", {})["person"] = person
        elif refusal is None and not path.startswith(OPEN_TO_ALL):
            refusal = _turned_away(request)
        await (self.app if refusal is None else refusal)(scope, receive, send)

    async def _person(self, request: Request) -> Person | None:
        if self.records is None:
            return OWNER_HERE
        token = request.cookies.get(COOKIE, "")
        if not token or request.scope["path"].startswith("/static/"):
            return None
        sitting = await run_in_threadpool(sitting_of, self.records, token)
        return None if sitting is None else Person(sitting.name, sitting.role, sitting.id)


def _turned_away(request: Request) -> Response:
    if request.method in {"GET", "HEAD"} and "text/html" in request.headers.get("accept", ""):
        where = request.url.path + (f"?{request.url.query}" if request.url.query else "")
        return RedirectResponse(f"/sign-in?after={quote(where, safe='')}", status_code=303)
    return JSONResponse({"problem": "Nobody is signed in. Sign in first."}, status_code=401)
