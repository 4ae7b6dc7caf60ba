"""Keep a form that was drawn: what it was made from, where everything on it lies, what its patches are."""

from __future__ import annotations

from dataclasses import dataclass

from laydown.kernel.errors import BadSetting, RefusedInput
from laydown.kernel.version import __version__
from laydown.records.ledger import Records
from laydown.records.work import Work
from laydown.science.forms.form_wish import FormWish, OwnPicture, check_wish
from laydown.science.forms.geometry import from_json
from laydown.science.forms.page import MM_PER_INCH
from laydown.trials.test_form import FormPage, PageUse, TestForm
from laydown.trials.trial import Trial
from laydown.usecases.acted import Acted
from laydown.usecases.bench.open_trial import open_trial
from laydown.usecases.forms.form_words import form_words

_AGAIN = "Draw the form again."


@dataclass(frozen=True, slots=True, kw_only=True)
class DrawnPage:
    """One page as it was drawn; ``geometry_json`` says where everything on it lies (see ``to_json``)."""

    name: str
    use: PageUse
    width_mm: float
    length_mm: float
    patches: int
    geometry_json: str


@dataclass(frozen=True, slots=True, kw_only=True)
class DrawnForm:
    """A form as it was drawn: from which wish, its pages, its patches as CGATS, what found no room."""

    wish: FormWish
    pages: tuple[DrawnPage, ...]
    reference: bytes
    left_out: tuple[str, ...] = ()


def keep_form(
    records: Records, trial_id: str, drawn: DrawnForm, *, who: str, words: str = ""
) -> Acted[TestForm]:
    """Keep a form with the files that tell what is on it; pictures of the studio's own are kept before.

    Raises
    ------
    BadSetting
        The wish cannot be drawn, a page's geometry is of another page, or a picture of the studio's own is
        not kept here.
    RefusedInput
        A form of this studio has the code already, or the trial is not open.
    """
    check_wish(drawn.wish)
    _refuse_incomplete(drawn)
    for page in drawn.pages:
        _refuse_other_geometry(drawn.wish, page)
    code = drawn.wish.code
    with records.work("made", who=who) as work:
        open_trial(work, trial_id)
        _refuse_taken(work, code)
        for picture in drawn.wish.pictures:
            _note_picture(work, picture)
        form = TestForm(
            id=records.new_id(),
            trial_id=trial_id,
            code=code,
            wish=drawn.wish,
            pages=tuple(_kept_page(work, page) for page in drawn.pages),
            reference_sha256=work.keep_file(drawn.reference),
            left_out=drawn.left_out,
            made_at=work.now,
            made_with=__version__,
            by=who,
            words=words.strip(),
        )
        work.say(form_words(form))
        return Acted(work.add(form), work.entry_id)


def _kept_page(work: Work, page: DrawnPage) -> FormPage:
    return FormPage(
        name=page.name,
        use=page.use,
        width_mm=page.width_mm,
        length_mm=page.length_mm,
        patches=page.patches,
        geometry_sha256=work.keep_file(page.geometry_json.encode()),
    )


def _refuse_incomplete(drawn: DrawnForm) -> None:
    if not drawn.pages:
        raise BadSetting("the form has no page.", todo=_AGAIN)
    if not drawn.reference:
        raise BadSetting("the form has no list of its patches.", todo=_AGAIN)


def _refuse_other_geometry(wish: FormWish, page: DrawnPage) -> None:
    """A geometry of another page would put every patch that is read or scanned in the wrong place."""
    place = f"form {wish.code}, page {page.name}"
    try:
        told = from_json(page.geometry_json)
    except BadSetting as damaged:
        raise BadSetting(damaged.what, todo=_AGAIN, file=place) from damaged
    pixel_mm = MM_PER_INCH / wish.ppi  # pages end on whole pixels
    same = (
        (told.form, told.page, len(told.patches)) == (wish.code, page.name, page.patches)
        and abs(told.width_mm - page.width_mm) <= pixel_mm
        and abs(told.height_mm - page.length_mm) <= pixel_mm
    )
    if not same:
        raise BadSetting(
            f"its geometry is of page {told.page} of form {told.form}, {told.width_mm:g} x "
            f"{told.height_mm:g} mm, patches: {len(told.patches)}; the page has {page.width_mm:g} x "
            f"{page.length_mm:g} mm, patches: {page.patches}.",
            todo=_AGAIN,
            file=place,
        )


def _refuse_taken(work: Work, code: str) -> None:
    for form in work.find(TestForm, code=code):
        of = work.get(Trial, form.trial_id).name
        raise RefusedInput(
            f"there is a form {code} already, of the trial “{of}”: one code names one form, for ever.",
            todo="Choose another code.",
        )


def _note_picture(work: Work, picture: OwnPicture) -> None:
    size = work.vault.size(picture.sha256)
    if size is None:
        raise BadSetting(
            "this picture is not kept here, so that the form could not be drawn again.",
            todo="Hand the picture in again.",
            file=picture.name,
        )
    work.note_file(picture.sha256, size)
