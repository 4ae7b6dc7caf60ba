"""The files of a test form: previews, pages for the printer, what the reader needs, and all as one."""

from __future__ import annotations

from dataclasses import dataclass
from typing import IO, Annotated, BinaryIO, Literal, cast

from fastapi import APIRouter, Depends, Query, Request
from starlette.responses import Response

from laydown.kernel.errors import BadSetting, UnknownRecord
from laydown.records.look import Look
from laydown.science.forms.page_head import ANY_SHEET
from laydown.science.forms.tiff import Packing
from laydown.trials.sheets import Sheet
from laydown.trials.test_form import FormPage, TestForm
from laydown.usecases.forms.composed import composed, page_of
from laydown.usecases.forms.draw_page import DrawOptions, FileKind, draw_form_page, refuse_if_changed
from laydown.usecases.forms.form_archive import (
    geometry_name,
    page_file_name,
    reference_name,
    write_form_archive,
)
from laydown.usecases.forms.preview_page import preview_page
from laydown.web.desk import desk_of
from laydown.web.disposition import disposition
from laydown.web.drawing_table import preview_width
from laydown.web.pages.forms import form_of
from laydown.web.people import allow

router = APIRouter(prefix="/trials/{trial_id}/form/{form_id}", dependencies=[Depends(allow("bench"))])
MEDIA_TYPES: dict[FileKind, str] = {"tiff": "image/tiff", "pdf": "application/pdf"}


@dataclass(frozen=True, slots=True)
class Wanted:
    """How pages are to be drawn, as an address says it."""

    kind: FileKind
    bits: Literal[8, 16]
    packing: Packing
    profile: bool
    sheet: str

    @property
    def options(self) -> DrawOptions:
        """The same for the use case."""
        return DrawOptions(
            kind=self.kind, bits=self.bits, packing=self.packing, profile=self.profile, sheet=self.sheet
        )


def wanted(
    kind: FileKind = "tiff",
    bits: Annotated[int, Query(ge=8, le=16)] = 8,
    packing: Packing = "deflate",
    profile: bool = True,
    sheet: Annotated[str, Query(max_length=16)] = ANY_SHEET,
) -> Wanted:
    """A dependency of routes: the options in an address."""
    if bits not in (8, 16):
        raise BadSetting(f"{bits} bits for each value cannot be written.", todo="Choose 8 or 16.")
    return Wanted(kind, 16 if bits == 16 else 8, packing, profile, sheet)


Options = Annotated[Wanted, Depends(wanted)]


@router.get("/pages/{name}/preview")
def preview(
    request: Request,
    trial_id: str,
    form_id: str,
    name: str,
    px: Annotated[int, Query(ge=1, le=4000)] = 720,
) -> Response:
    """A page as PNG, for the screen."""
    desk = desk_of(request)
    with desk.records.look() as look:
        form = form_of(look, trial_id, form_id)
        one = page_called(form, name)
        refuse_if_changed(look, form, page_of(composed(form.wish), one.name))
        # One that came from others may have come without their own pictures: those stay grey.
        whole = all(look.vault.size(picture.sha256) is not None for picture in form.wish.pictures)

        def draw(wide: int) -> bytes:
            return preview_page(form.wish, one.name, width_px=wide, look=look if whole else None)

        width_px = preview_width(form.wish, one.name, px)
        content = desk.drawings.preview(form.wish, one.name, width_px, with_own=whole, draw=draw)
    return Response(content, media_type="image/png", headers=_kept_for(request))


@router.get("/pages/{name}/file")
def page_file(request: Request, trial_id: str, form_id: str, name: str, told: Options) -> Response:
    """A page as the printer takes it; drawing takes seconds to minutes."""
    desk = desk_of(request)
    with desk.records.look() as look:
        form = form_of(look, trial_id, form_id)
        one = page_called(form, name)
        refuse_unknown_sheet(look, trial_id, told.sheet)

    def write(into: IO[bytes]) -> None:
        draw_form_page(desk.records, form.id, one.name, cast("BinaryIO", into), options=told.options)

    called = page_file_name(form, one.name, told.options)
    return desk.drawings.file(write, name=called, media_type=MEDIA_TYPES[told.kind])


@router.get("/pages/{name}/geometry")
def geometry(request: Request, trial_id: str, form_id: str, name: str) -> Response:
    """Where everything on a page lies, as it was kept."""
    with desk_of(request).records.look() as look:
        form = form_of(look, trial_id, form_id)
        one = page_called(form, name)
        content = look.read_file(one.geometry_sha256)
    return _given(content, geometry_name(form, one), "application/json")


@router.get("/reference")
def reference(request: Request, trial_id: str, form_id: str) -> Response:
    """The list of its patches for the reader's program, as it was kept."""
    with desk_of(request).records.look() as look:
        form = form_of(look, trial_id, form_id)
        content = look.read_file(form.reference_sha256)
    return _given(content, reference_name(form), "text/plain; charset=utf-8")


@router.get("/form.zip")
def everything(request: Request, trial_id: str, form_id: str, told: Options) -> Response:
    """All of its files as one."""
    desk = desk_of(request)
    with desk.records.look() as look:
        form = form_of(look, trial_id, form_id)
        refuse_unknown_sheet(look, trial_id, told.sheet)

    def write(into: IO[bytes]) -> None:
        write_form_archive(desk.records, form.id, into, options=told.options)

    sheet = "" if told.sheet == ANY_SHEET else f"-{told.sheet}"
    return desk.drawings.file(write, name=f"form-{form.code}{sheet}.zip", media_type="application/zip")


def page_called(form: TestForm, name: str) -> FormPage:
    """A page of a form by its name.

    Raises
    ------
    UnknownRecord
        It has no such page.
    """
    for page in form.pages:
        if page.name == name:
            return page
    raise UnknownRecord(
        f"form {form.code} has no such page.", todo=f"Its pages are {', '.join(p.name for p in form.pages)}."
    )


def refuse_unknown_sheet(look: Look, trial_id: str, code: str) -> None:
    """Refuse to print the code of a sheet that the trial does not have.

    Raises
    ------
    UnknownRecord
        There is no such sheet.
    """
    if code != ANY_SHEET and not look.count(Sheet, trial_id=trial_id, code=code):
        raise UnknownRecord("this trial has no sheet of that code.", todo="Choose a sheet of the trial.")


def _given(content: bytes, name: str, media_type: str) -> Response:
    headers = {"Content-Disposition": disposition(name, shown=False), "Cache-Control": "private, no-cache"}
    return Response(content, media_type=media_type, headers=headers)


def _kept_for(request: Request) -> dict[str, str]:
    """A form never changes; but on a shared tablet nothing stays behind for whoever signs in next."""
    return {"Cache-Control": "no-store" if desk_of(request).lan else "private, max-age=86400, immutable"}
