"""The pages of one shelf of the stock room: its list, its forms, one thing on it."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from datetime import datetime
from typing import Annotated, Any

from fastapi import APIRouter, Depends, Query, Request
from starlette.responses import HTMLResponse, RedirectResponse

from laydown.kernel.errors import LaydownError
from laydown.records.look import Look
from laydown.records.trial_facts import STUDIO_ID
from laydown.trials.studio import Studio
from laydown.usecases.stock.amend import amend
from laydown.usecases.stock.book_in import book_in
from laydown.usecases.stock.stock_words import called
from laydown.usecases.stock.take_away import take_away
from laydown.web.desk import desk_of
from laydown.web.forms import Form, done, posted
from laydown.web.people import allow, person_of
from laydown.web.rendering import page
from laydown.web.shelf_fields import Field, texts_of, values_of
from laydown.web.views.notes import notes_view
from laydown.web.views.stock import (
    Section,
    StockFormView,
    StockListView,
    StockThingView,
    fact_groups,
    form_groups,
    list_rows,
    tabs,
)

Told = Mapping[str, str]  # what an address or a form says before it is read
Posted = Annotated[Form, Depends(posted)]


@dataclass(frozen=True, slots=True)
class Shelf:
    """One kind of thing in the stock room.

    ``fields`` gives the fields of its form: of a thing that is kept, or (None) of a new one as far as
    ``Told`` says what it is to be. ``fixed`` are fields of the noun that no form shows, with the values they
    may have.
    """

    noun: type[Any]
    path: str
    title: str
    one: str
    empty: str
    fields: Callable[[Look, Studio, Any, Told], tuple[Field, ...]]
    name: Callable[[Any], str]
    intro: str = ""
    fixed: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    adds: tuple[tuple[str, str], ...] = ()
    above: Callable[[Look, Any], tuple[tuple[str, str], ...]] = lambda _look, _thing: ()
    sections: Callable[[Look, Any, Studio], tuple[Section, ...]] = lambda _look, _thing, _studio: ()
    cautions: Callable[[Look, Any, datetime], tuple[str, ...]] = lambda _look, _thing, _now: ()
    extra: Callable[[Look, Any, Studio, datetime], Any] = lambda _look, _thing, _studio, _now: None


def shelf_router(shelf: Shelf) -> APIRouter:
    """The routes of a shelf, for the owner."""
    router = APIRouter(prefix=shelf.path, dependencies=[Depends(allow())])

    @router.get("")
    def listed(
        request: Request, q: str = "", number: Annotated[int, Query(alias="page", ge=1, le=100_000)] = 1
    ) -> HTMLResponse:
        return show_list(request, shelf, query=q, number=number)

    @router.get("/new")
    def new(request: Request) -> HTMLResponse:
        return _form(request, shelf, None, told=request.query_params)

    @router.post("", response_model=None)
    def add(request: Request, form: Posted) -> HTMLResponse | RedirectResponse:
        return _add(request, shelf, form)

    @router.get("/{thing_id}")
    def one(request: Request, thing_id: str) -> HTMLResponse:
        return show_thing(request, shelf, thing_id)

    @router.get("/{thing_id}/edit")
    def edit(request: Request, thing_id: str) -> HTMLResponse:
        return _form(request, shelf, thing_id)

    @router.post("/{thing_id}/edit", response_model=None)
    def change(request: Request, thing_id: str, form: Posted) -> HTMLResponse | RedirectResponse:
        return _change(request, shelf, thing_id, form)

    @router.post("/{thing_id}/remove", response_model=None, dependencies=[Depends(posted)])
    def remove(request: Request, thing_id: str) -> HTMLResponse | RedirectResponse:
        return _remove(request, shelf, thing_id)

    return router


def show_list(request: Request, shelf: Shelf, *, query: str, number: int) -> HTMLResponse:
    """One page of a shelf."""
    with desk_of(request).records.look() as look:
        rows, more = list_rows(look, shelf.noun, query=query, number=number, studio=studio_of(look))
    view = StockListView(
        tabs=tabs(shelf.path),
        title=shelf.title,
        path=shelf.path,
        query=query,
        rows=rows,
        number=number,
        more=more,
        empty=shelf.empty,
        adds=shelf.adds or ((f"Add a {shelf.one}", f"{shelf.path}/new"),),
    )
    return page(request, "stock_list.html", view)


def show_thing(
    request: Request, shelf: Shelf, thing_id: str, *, refusal: str = "", typed: Form | None = None
) -> HTMLResponse:
    """The page of one thing; with the reason, and what was typed, where something about it was refused."""
    records = desk_of(request).records
    now = records.now()
    with records.look() as look:
        thing, studio = look.get(shelf.noun, thing_id), studio_of(look)
        view = StockThingView(
            tabs=tabs(shelf.path),
            above=((shelf.title, shelf.path), *shelf.above(look, thing)),
            title=shelf.name(thing),
            path=f"{shelf.path}/{thing_id}",
            revision=look.revision(shelf.noun, thing_id),
            groups=fact_groups(thing, shelf.fields(look, studio, thing, {}), studio=studio),
            sections=shelf.sections(look, thing, studio),
            cautions=shelf.cautions(look, thing, now),
            notes=notes_view(look, about=thing_id, back=f"{shelf.path}/{thing_id}", studio=studio),
            typed={name: typed.text(name) for name in typed.fields} if typed else {},
            extra=shelf.extra(look, thing, studio, now),
            refusal=refusal,
        )
    return page(request, "stock_thing.html", view, status=422 if refusal else 200)


def studio_of(look: Look) -> Studio:
    """The studio's settings, the usual ones where none are kept."""
    return look.seek(Studio, STUDIO_ID) or Studio(id=STUDIO_ID)


def _form(
    request: Request,
    shelf: Shelf,
    thing_id: str | None,
    *,
    told: Told | None = None,
    typed: Form | None = None,
    refusal: str = "",
) -> HTMLResponse:
    """The form of a new thing, or of one that is kept; filled with what was typed where that was refused."""
    with desk_of(request).records.look() as look:
        studio = studio_of(look)
        kept = None if thing_id is None else look.get(shelf.noun, thing_id)
        said = dict(told or {}) | _fixed(
            shelf, typed.text if typed else lambda name: (told or {}).get(name, "")
        )
        fields = shelf.fields(look, studio, kept, said)
        texts = said if kept is None else texts_of(kept, fields, studio=studio)
        title = f"Add a {shelf.one}" if kept is None else f"Correct {called(look, kept)}"
        hidden = {name: said[name] for name in shelf.fixed}
        if thing_id is not None:
            # Where somebody else was quicker, saving again must not overwrite what nobody here has seen.
            hidden = {"seen": typed.text("seen") if typed else str(look.revision(shelf.noun, thing_id))}
    view = StockFormView(
        title=title,
        action=shelf.path if kept is None else f"{shelf.path}/{thing_id}/edit",
        back=shelf.path if kept is None else f"{shelf.path}/{thing_id}",
        intro=shelf.intro,
        groups=form_groups(fields, typed.texts(field.name for field in fields) if typed else texts),
        hidden=tuple(hidden.items()),
        submit="Save" if kept else "Add",
        refusal=refusal,
    )
    return page(request, "stock_form.html", view, status=422 if refusal else 200)


def _fixed(shelf: Shelf, said: Callable[[str], str]) -> dict[str, str]:
    """What no form shows: one of the values it may have, the first where nothing fitting was said."""
    return {name: said(name) if said(name) in may else may[0] for name, may in shelf.fixed.items()}


def _add(request: Request, shelf: Shelf, form: Form) -> HTMLResponse | RedirectResponse:
    records = desk_of(request).records
    said = _fixed(shelf, form.text)
    with records.look() as look:
        studio = studio_of(look)
        fields = shelf.fields(look, studio, None, said)
    try:
        told = values_of(form, fields, studio=studio)
        acted = book_in(records, shelf.noun(id="", **said, **told), who=person_of(request).name)
    except LaydownError as refused:
        return _form(request, shelf, None, typed=form, refusal=str(refused))
    return done(f"{shelf.path}/{acted.thing.id}", acted.entry_id)


def _change(request: Request, shelf: Shelf, thing_id: str, form: Form) -> HTMLResponse | RedirectResponse:
    records = desk_of(request).records
    with records.look() as look:
        studio, kept = studio_of(look), look.get(shelf.noun, thing_id)
        fields = shelf.fields(look, studio, kept, {})
    try:
        thing = replace(kept, **values_of(form, fields, studio=studio, kept=kept))
        seen = form.whole("seen", "the page's state", low=0, high=2**31)
        acted = amend(records, thing, who=person_of(request).name, seen=seen)
    except LaydownError as refused:
        return _form(request, shelf, thing_id, typed=form, refusal=str(refused))
    return done(f"{shelf.path}/{thing_id}", acted.entry_id)


def _remove(request: Request, shelf: Shelf, thing_id: str) -> HTMLResponse | RedirectResponse:
    try:
        acted = take_away(desk_of(request).records, shelf.noun, thing_id, who=person_of(request).name)
    except LaydownError as refused:
        return show_thing(request, shelf, thing_id, refusal=str(refused))
    return done(shelf.path, acted.entry_id)
