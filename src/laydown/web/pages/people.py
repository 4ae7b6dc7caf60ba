"""People: accounts and roles, who is signed in, and a code that pairs a tablet."""

from __future__ import annotations

import io
from typing import Annotated

import segno
from fastapi import APIRouter, Depends, Request
from starlette.responses import HTMLResponse, RedirectResponse, Response

from laydown.kernel.errors import LaydownError
from laydown.records.sign_ins import SignIns
from laydown.trials.people import ROLES, Role
from laydown.usecases.people.accounts import change_password, change_role, close_account, make_account
from laydown.usecases.people.sign_in import offer_pairing
from laydown.web.desk import desk_of
from laydown.web.forms import Form, done, posted
from laydown.web.people import allow, person_of
from laydown.web.rendering import page
from laydown.web.views.people import CodeView, people_view

router = APIRouter(dependencies=[Depends(allow())])
Posted = Annotated[Form, Depends(posted)]


@router.get("/people")
def people(request: Request) -> HTMLResponse:
    """Accounts and who is signed in."""
    return _page(request)


@router.post("/people")
def make(request: Request, form: Posted) -> Response:
    """Make an account."""
    typed = {"name": form.text("name"), "role": form.text("role")}
    try:
        acted = make_account(
            desk_of(request).records,
            name=form.must("name", "the name"),
            role=_role(form),
            password=form.secret("password"),
            who=person_of(request).name,
        )
    except LaydownError as error:
        return _page(request, typed=typed, trouble=str(error), status=422)
    return done("/people", acted.entry_id)


@router.post("/people/{account_id}/role")
def role(request: Request, account_id: str, form: Posted) -> RedirectResponse:
    """Give somebody another role."""
    records, who = desk_of(request).records, person_of(request).name
    return done("/people", change_role(records, account_id, role=_role(form), who=who).entry_id)


@router.post("/people/{account_id}/close", dependencies=[Depends(posted)])
def close(request: Request, account_id: str) -> RedirectResponse:
    """Close an account."""
    records, who = desk_of(request).records, person_of(request).name
    return done("/people", close_account(records, account_id, who=who).entry_id)


@router.post("/people/{account_id}/password")
def password(request: Request, account_id: str, form: Posted) -> Response:
    """Give somebody another password."""
    records, who = desk_of(request).records, person_of(request).name
    try:
        change_password(records, account_id, password=form.secret("password"), who=who)
    except LaydownError as error:
        return _page(request, trouble=str(error), status=422)
    return RedirectResponse("/people", status_code=303)


@router.post("/people/sittings/{sitting_id}/end", dependencies=[Depends(posted)])
def end(request: Request, sitting_id: str) -> RedirectResponse:
    """Sign a device out."""
    SignIns(desk_of(request).records.engine).end(sitting_id=sitting_id)
    return RedirectResponse("/people", status_code=303)


@router.post("/people/pairing")
def show_code(request: Request, form: Posted) -> HTMLResponse:
    """Show a code that makes a tablet a member of the bench, once and for five minutes."""
    desk, name, wanted = desk_of(request), form.text("name"), _role(form)
    try:
        token = offer_pairing(desk.records, name=name, role=wanted, who=person_of(request).name)
    except LaydownError as error:
        return _page(request, trouble=str(error), status=422)
    address = f"{request.url.scheme}://{desk.reached_at or request.headers['host']}/pair/{token}"
    drawn = io.BytesIO()
    segno.make(address, error="m").save(drawn, kind="svg", scale=8, border=4, dark="#000", light="#fff")
    code = CodeView(_inside(drawn.getvalue().decode()), address, name or f"{wanted} tablet", wanted)
    return _page(request, code=code)


def _inside(svg: str) -> str:
    """The drawing without the heading of a file of its own."""
    return svg[svg.index("<svg") :]


def _role(form: Form) -> Role:
    wanted = form.choice("role", ROLES, "the role")
    return next(one for one in ROLES if one == wanted)


def _page(
    request: Request,
    *,
    code: CodeView | None = None,
    typed: dict[str, str] | None = None,
    trouble: str = "",
    status: int = 200,
) -> HTMLResponse:
    desk = desk_of(request)
    with desk.records.look() as look:
        view = people_view(
            look,
            SignIns(desk.records.engine),
            now=desk.records.now(),
            lan=desk.lan,
            session=person_of(request).session,
            code=code,
            typed=typed,
            trouble=trouble,
        )
    return page(request, "people.html", view, status=status)
