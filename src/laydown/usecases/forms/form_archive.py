"""Everything a printer and a reader need of a form that is kept, as one file."""

from __future__ import annotations

import shutil
from collections.abc import Callable
from io import BytesIO
from tempfile import TemporaryFile
from typing import IO, BinaryIO, cast
from zipfile import ZIP_DEFLATED, ZIP_STORED, ZipFile, ZipInfo

from laydown.records.ledger import Records
from laydown.trials.test_form import FormPage, TestForm
from laydown.usecases.forms.draw_page import DrawOptions, draw_form_page
from laydown.usecases.forms.write_form import form_files

ENDINGS = {"tiff": "tif", "pdf": "pdf"}
_PIECE = 2**20


def page_file_name(form: TestForm, page: str, options: DrawOptions) -> str:
    """What a drawn page is called, such as "F7K2-D1-K7.tif" for sheet K7."""
    sheet = "" if options.sheet == DrawOptions().sheet else f"-{options.sheet}"
    return f"{form.code}-{page}{sheet}.{ENDINGS[options.kind]}"


def reference_name(form: TestForm) -> str:
    """What the list of its patches is called."""
    return f"{form.code}-reference.txt"


def geometry_name(form: TestForm, page: FormPage) -> str:
    """What the file is called that says where everything lies on a page."""
    return f"{form.code}-{page.name}-geometry.json"


def write_form_archive(records: Records, form_id: str, into: IO[bytes], *, options: DrawOptions) -> None:
    """Write a form as a ZIP: its pages as they are printed, reference and geometry as kept, and a leaflet.

    Pages are drawn one after the other into a file aside; no page is ever whole in memory.

    Raises
    ------
    UnknownRecord
        There is no such form.
    AlteredFile
        This version would not draw what the form was made as, or a kept file was altered.
    BadSetting
        The options make no sense together.
    """
    with records.look() as look:
        form = look.get(TestForm, form_id)
        kept = {
            reference_name(form): look.read_file(form.reference_sha256),
            **{geometry_name(form, page): look.read_file(page.geometry_sha256) for page in form.pages},
        }
    with ZipFile(into, "w") as box:
        _add(box, form, f"{form.code}-read-me.txt", _leaflet(form))
        for name, content in kept.items():
            _add(box, form, name, content)
        for page in form.pages:
            with TemporaryFile() as aside:
                draw_form_page(records, form_id, page.name, cast("BinaryIO", aside), options=options)
                aside.seek(0)
                told = _named(form, page_file_name(form, page.name, options))
                told.compress_type = ZIP_DEFLATED if options.packing == "none" else ZIP_STORED
                with box.open(told, "w", force_zip64=True) as member:
                    shutil.copyfileobj(aside, member, _PIECE)


def _leaflet(form: TestForm) -> bytes:
    """How the form is printed and read, as every set of files says it."""
    files = form_files(form.wish, options=DrawOptions(), read_file=_no_file)
    write: Callable[[BinaryIO], None] = next(write for name, write in files if name.endswith("read-me.txt"))
    leaflet = BytesIO()
    write(leaflet)
    return leaflet.getvalue()


def _no_file(sha256: str) -> bytes:
    raise AssertionError(f"{sha256} is asked for by words")


def _add(box: ZipFile, form: TestForm, name: str, content: bytes) -> None:
    told = _named(form, name)
    told.compress_type = ZIP_DEFLATED
    box.writestr(told, content)


def _named(form: TestForm, name: str) -> ZipInfo:
    """A member dated as the form was made, so that the same form gives the same file."""
    return ZipInfo(name, form.made_at.timetuple()[:6])
