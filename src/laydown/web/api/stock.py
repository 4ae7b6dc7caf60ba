"""The stock room: printers, media, lots, rolls, certificates; read, put in, corrected, taken away."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import Annotated, Any, TypeVar

from fastapi import APIRouter, Body, Depends, Request

from laydown.kernel.errors import BadSetting
from laydown.records.trial_facts import STUDIO_ID
from laydown.trials.stock import Certificate, Lot, Medium, Roll, RollUse, Supplier
from laydown.trials.studio import Printer, PrinterEvent, Studio
from laydown.usecases.acted import Acted
from laydown.usecases.stock.amend import amend
from laydown.usecases.stock.book_in import book_in
from laydown.usecases.stock.set_studio import set_studio
from laydown.usecases.stock.take_away import take_away
from laydown.web.api.answers import Listed
from laydown.web.api.changing import Id, Limit, Page, Seen
from laydown.web.desk import desk_of
from laydown.web.people import allow, person_of

router = APIRouter(tags=["stock room"], dependencies=[Depends(allow())])
Thing = TypeVar("Thing", Supplier, Medium, Lot, Roll, RollUse, Certificate, Printer, PrinterEvent)


@router.get("/studio")
def studio(request: Request) -> Studio:
    """The studio's own settings."""
    with desk_of(request).records.look() as look:
        return look.seek(Studio, STUDIO_ID) or Studio(id=STUDIO_ID)


@router.put("/studio")
def settle_studio(request: Request, studio: Annotated[Studio, Body()], seen: Seen = None) -> Acted[Studio]:
    """Change the studio's settings."""
    told = replace(studio, id=STUDIO_ID)
    return set_studio(desk_of(request).records, told, who=person_of(request).name, seen=seen)


def _serve(name: str, noun: type[Thing], order: tuple[str, ...]) -> None:
    """The five addresses of one kind of thing."""

    def listed(request: Request, page: Page = 1, limit: Limit = 50) -> Any:
        with desk_of(request).records.look() as look:
            found = look.find(noun, order=order, limit=limit + 1, offset=(page - 1) * limit)
        return Listed(found[:limit], page, len(found) > limit)

    def one(request: Request, id: Id) -> Any:  # noqa: A002 - it is the id
        with desk_of(request).records.look() as look:
            return look.get(noun, id)

    def put(request: Request, id: Id, thing: Any, seen: Seen = None) -> Any:  # noqa: A002
        if thing.id != id:
            raise BadSetting("the id in the address and in the thing differ.", todo="Make them the same.")
        records, who = desk_of(request).records, person_of(request).name
        with records.look() as look:
            known = look.seek(noun, id) is not None
        return amend(records, thing, who=who, seen=seen) if known else book_in(records, thing, who=who)

    def remove(request: Request, id: Id) -> Any:  # noqa: A002
        return take_away(desk_of(request).records, noun, id, who=person_of(request).name)

    put.__annotations__["thing"] = Annotated[noun, Body()]
    word = noun.__name__
    routes: tuple[tuple[str, str, Callable[..., Any], Any, str], ...] = (
        ("GET", "", listed, Listed[noun], f"Every {word}, page by page."),  # type: ignore[valid-type]  # made at run time, for OpenAPI
        ("GET", "/{id}", one, noun, f"One {word}."),
        ("PUT", "/{id}", put, Acted[noun], f"Put a {word} in, or correct it; the id is yours to choose."),  # type: ignore[valid-type]  # as above
        ("DELETE", "/{id}", remove, Acted[noun], f"Take a {word} away; it can be brought back by undoing."),  # type: ignore[valid-type]  # as above
    )
    for method, below, serve, model, summary in routes:
        router.add_api_route(
            f"/{name}{below}",
            serve,
            methods=[method],
            response_model=model,
            summary=summary,
            description=summary,
            operation_id=f"{method.lower()}_{name.replace('-', '_')}{'_one' if below else ''}",
        )


_serve("suppliers", Supplier, ("name", "id"))
_serve("media", Medium, ("name", "id"))
_serve("lots", Lot, ("code", "id"))
_serve("rolls", Roll, ("id",))
_serve("roll-uses", RollUse, ("-at", "id"))
_serve("certificates", Certificate, ("title", "id"))
_serve("printers", Printer, ("name", "id"))
_serve("printer-events", PrinterEvent, ("-at", "id"))
