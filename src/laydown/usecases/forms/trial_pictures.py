"""Pictures of the studio's own that the forms of a trial may show: files that were handed in for them."""

from __future__ import annotations

import unicodedata
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from pathlib import PurePosixPath
from typing import BinaryIO

from laydown.kernel.errors import BadSetting, TooLarge
from laydown.records.ledger import Records
from laydown.records.look import Look
from laydown.science.forms.form_wish import FormWish, OwnPicture
from laydown.science.forms.lettering import text_width_mm
from laydown.trials.remarks import Attachment
from laydown.trials.test_form import TestForm
from laydown.usecases.acted import Acted
from laydown.usecases.forms.own_picture import LEAST_PPI, measure_picture
from laydown.usecases.trial.attach_file import LARGEST_ATTACHMENT, ArrivingAttachment, attach_files

FOR_THE_FORM = "A picture for the test form."
_PIECE = 2**20
_CAPTION_PT = 5.0  # as captions of pictures are set
_LEANS_OUT = "jx"  # letters drawn a hair to the left of where they begin
_ENDINGS = (".tif", ".tiff", ".png", ".jpg", ".jpeg")


@dataclass(frozen=True, slots=True)
class ArrivingPicture:
    """A picture on its way in: what it is called, and the open file."""

    name: str
    file: BinaryIO


@dataclass(frozen=True, slots=True)
class TrialPicture:
    """A kept picture that a form of the trial may show."""

    name: str
    sha256: str


def pictures_of_trial(look: Look, trial_id: str) -> tuple[TrialPicture, ...]:
    """Every picture that was attached to the trial itself, and those its forms show already; each once."""
    found = {
        picture.sha256: TrialPicture(picture.name, picture.sha256)
        for form in look.find(TestForm, trial_id=trial_id, order=("made_at", "id"))
        for picture in form.wish.pictures
        if look.vault.size(picture.sha256) is not None  # one that came from others may have stayed there
    }
    for one in look.find(Attachment, about=trial_id, order=("at", "id")):
        if PurePosixPath(one.name).suffix.lower() in _ENDINGS:
            found.setdefault(one.sha256, TrialPicture(one.name, one.sha256))
    return tuple(found.values())


def placed_picture(look: Look, trial_id: str, sha256: str, *, ppi: float | None) -> OwnPicture:
    """A picture of the trial at its actual size, which its tag or ``ppi`` says.

    Raises
    ------
    BadSetting
        It is none of this trial's, or nothing says its resolution.
    UnreadableFile
        It cannot be read.
    """
    for one in pictures_of_trial(look, trial_id):
        if one.sha256 == sha256:
            placed = measure_picture(look.read_file(sha256), name=one.name, sha256=sha256, ppi=ppi)
            return replace(placed, name=caption_name(one.name, width_mm=placed.width_mm))
    raise BadSetting("this picture is none of this trial's.", todo="Hand it in for this trial first.")


def caption_name(name: str, *, width_mm: float) -> str:
    """The name of a picture in signs that a form's lettering has, as much of it as has room below it."""
    apart = unicodedata.normalize("NFKD", name)
    plain = "".join(sign for sign in apart if not unicodedata.combining(sign))
    known = "".join(sign if sign.isascii() and sign.isprintable() else "_" for sign in plain).strip(" ,;")
    first = known[:1].upper() if known[:1] in _LEANS_OUT else known[:1]
    said = f"{first}{known[1:]}" or "picture"
    while len(said) > 1 and text_width_mm(said, size_pt=_CAPTION_PT) > width_mm:
        said = said[:-1]
    return said


def refuse_foreign_pictures(look: Look, trial_id: str, wish: FormWish) -> None:
    """Refuse a wish whose pictures were not handed in for this trial: a hash must open no other kept file.

    Raises
    ------
    BadSetting
        One of them is none of this trial's.
    """
    own = {one.sha256 for one in pictures_of_trial(look, trial_id)} if wish.pictures else set()
    for picture in wish.pictures:
        if picture.sha256 not in own:
            raise BadSetting(
                "this picture is none of this trial's.",
                todo="Hand it in for this trial first.",
                file=picture.name[:80],
            )


def keep_pictures(
    records: Records, trial_id: str, files: Sequence[ArrivingPicture], *, who: str
) -> Acted[tuple[Attachment, ...]]:
    """Keep pictures for the forms of a trial, all or none.

    Raises
    ------
    UnreadableFile
        One of them is no picture.
    BadSetting
        None was chosen.
    TooLarge
        One is larger than may be attached.
    """
    if not files:
        raise BadSetting("no picture was chosen.", todo="Choose a TIFF, PNG or JPEG file.")
    most = int(LARGEST_ATTACHMENT.value)
    for one in files:
        content = one.file.read(most + 1)
        if len(content) > most:
            raise TooLarge(
                f"the picture is larger than {most / 2**20:.0f} MB.",
                todo="Save it smaller: 300 ppi at actual size are enough.",
                file=one.name,
            )
        # Whether it can be read; what its tag says is asked once it is placed.
        measure_picture(content, name=one.name, sha256="", ppi=LEAST_PPI.value)
        if PurePosixPath(one.name).suffix.lower() not in _ENDINGS:
            raise BadSetting(
                "its name does not end like a picture's.", todo=f"Use {', '.join(_ENDINGS)}.", file=one.name
            )
        one.file.seek(0)
    return attach_files(
        records,
        [ArrivingAttachment(one.name, _pieces(one.file)) for one in files],
        about=trial_id,
        who=who,
        words=FOR_THE_FORM,
    )


def _pieces(file: BinaryIO) -> Iterator[bytes]:
    while piece := file.read(_PIECE):
        yield piece
