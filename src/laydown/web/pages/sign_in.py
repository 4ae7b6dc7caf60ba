"""Signing in and out, and pairing a tablet."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Depends, Request
from starlette.datastructures import FormData
from starlette.responses import HTMLResponse, RedirectResponse, Response

from laydown.kernel.errors import LaydownError, NotAllowed, TooManyAttempts
from laydown.usecases.people.sign_in import Begun, offered_pairing, pair, sign_in, sign_out
from laydown.web.desk import desk_of
from laydown.web.doorkeeper import COOKIE
from laydown.web.forms import Form, posted
from laydown.web.people import own_address
from laydown.web.rendering import page
from laydown.web.views.sign_in import PairView, SignInView

router = APIRouter()


async def _without_token(request: Request) -> Form:
    """A form of somebody who has no session yet; the origin was checked, and there is nothing to ride on."""
    fields: FormData = await request.form(max_fields=10, max_files=0)
    return Form(fields)


@router.get("/sign-in")
def ask(request: Request, after: str = "") -> HTMLResponse:
    """The form."""
    return page(request, "sign_in.html", SignInView(after=own_address(after), name="", trouble=""))


@router.post("/sign-in")
def enter(request: Request, form: Annotated[Form, Depends(_without_token)]) -> Response:
    """Sign in, and go on to the page that was asked for."""
    name, after = form.text("name"), own_address(form.text("after"))
    address = request.client.host if request.client else ""
    records = desk_of(request).records
    try:
        begun = sign_in(records, name=name, password=form.secret("password"), address=address)
    except LaydownError as error:
        status = 429 if isinstance(error, TooManyAttempts) else 403
        view = SignInView(after=after, name=name, trouble=str(error))
        return page(request, "sign_in.html", view, status=status)
    sign_out(records, request.cookies.get(COOKIE, ""))  # a browser holds one sitting at a time
    return _seated(request, begun, after)


@router.get("/sign-out")
def ask_out(request: Request) -> HTMLResponse:
    """Ask whether it is meant; a link alone signs nobody out."""
    return page(request, "sign_out.html", None)


@router.post("/sign-out", dependencies=[Depends(posted)])
def leave(request: Request) -> RedirectResponse:
    """End the sitting."""
    sign_out(desk_of(request).records, request.cookies.get(COOKIE, ""))
    answer = RedirectResponse("/sign-in", status_code=303)
    answer.delete_cookie(COOKIE, path="/", httponly=True, samesite="lax", secure=_secure(request))
    answer.headers["Clear-Site-Data"] = '"cache"'
    return answer


@router.get("/pair/{token}")
def offer(request: Request, token: str) -> HTMLResponse:
    """What the tablet would become; looking at it takes nothing."""
    pairing = offered_pairing(desk_of(request).records, token)
    if pairing is None:
        raise NotAllowed("this code is not good any more.", todo="Ask the owner to show a new one.")
    return page(request, "pair.html", PairView(token=token, name=pairing.name, role=pairing.role))


@router.post("/pair/{token}")
def take(request: Request, token: str) -> RedirectResponse:
    """Become it."""
    begun = pair(desk_of(request).records, token)
    return _seated(request, begun, "/")


def _seated(request: Request, begun: Begun, after: str) -> RedirectResponse:
    answer = RedirectResponse(after, status_code=303)
    left = begun.sitting.ends_at - begun.sitting.begun_at
    answer.set_cookie(
        COOKIE,
        begun.token,
        max_age=int(left.total_seconds()),
        path="/",
        httponly=True,
        samesite="lax",
        secure=_secure(request),
    )
    return answer


def _secure(request: Request) -> bool:
    return request.url.scheme == "https"
