"""The forms of a trial, and where everything on their pages lies."""

from __future__ import annotations

from dataclasses import dataclass

from laydown.kernel.errors import AlteredFile, BadSetting, UnknownRecord, UnreadableFile
from laydown.records.ledger import Records
from laydown.records.look import Look
from laydown.science.forms.geometry import PageGeometry, from_json
from laydown.trials.test_form import FormPage, TestForm
from laydown.trials.trial import Trial


@dataclass(frozen=True, slots=True)
class FormsOfTrial:
    """The forms of a trial, oldest first: those that are printed from, and those that were set aside."""

    in_use: tuple[TestForm, ...]
    aside: tuple[TestForm, ...]

    @property
    def all(self) -> tuple[TestForm, ...]:
        """All of them, oldest first: a sheet may come back that was printed from one set aside since."""
        return tuple(sorted((*self.in_use, *self.aside), key=lambda form: (form.made_at, form.id)))


def forms_of_trial(records: Records, trial_id: str) -> FormsOfTrial:
    """The forms of a trial.

    Raises
    ------
    UnknownRecord
        There is no such trial.
    """
    with records.look() as look:
        look.get(Trial, trial_id)
        forms = look.find(TestForm, trial_id=trial_id, order=("made_at", "id"))
    return FormsOfTrial(
        tuple(form for form in forms if form.set_aside_at is None),
        tuple(form for form in forms if form.set_aside_at is not None),
    )


def read_geometry(records: Records, form: TestForm) -> tuple[PageGeometry, ...]:
    """Where everything lies on each page of a form, in the order of its pages.

    Raises
    ------
    AlteredFile
        A geometry file is no longer what was put away.
    UnknownRecord
        One is missing.
    UnreadableFile
        One cannot be understood, or is of another page.
    """
    with records.look() as look:
        return tuple(_geometry(look, form, page) for page in form.pages)


def _geometry(look: Look, form: TestForm, page: FormPage) -> PageGeometry:
    place = f"geometry of form {form.code}, page {page.name}"
    try:
        told = from_json(look.read_file(page.geometry_sha256).decode())
    except (AlteredFile, UnknownRecord) as error:
        raise type(error)(error.what, todo=error.todo, file=place) from error
    except BadSetting as error:
        raise UnreadableFile(error.what, todo=error.todo, file=place) from error
    except (UnicodeDecodeError, RecursionError) as error:
        raise UnreadableFile(
            "this is no geometry file.", todo="Restore it from a backup: laydown restore.", file=place
        ) from error
    if (told.form, told.page) != (form.code, page.name):
        raise UnreadableFile(
            f"this is the geometry of page {told.page} of form {told.form}.",
            todo="Restore it from a backup: laydown restore.",
            file=place,
        )
    return told
