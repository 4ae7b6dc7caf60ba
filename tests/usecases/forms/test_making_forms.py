"""Forms are made of wishes within limits, show pictures of their own trial only, and are given out whole."""

from __future__ import annotations

from dataclasses import replace
from io import BytesIO
from zipfile import ZipFile

import pytest
from PIL import Image

from laydown.kernel.errors import BadSetting, RefusedInput, UnknownRecord, UnreadableFile
from laydown.records.ledger import Records
from laydown.science.forms.form_wish import FormWish, OwnPicture
from laydown.science.forms.geometry import from_json
from laydown.science.forms.reader import SPOT_READER
from laydown.science.readings.target import read_target
from laydown.trials.remarks import Attachment
from laydown.trials.test_form import TestForm
from laydown.usecases.forms.draw_page import DrawOptions, draw_form_page
from laydown.usecases.forms.form_archive import write_form_archive
from laydown.usecases.forms.form_limits import MOST_PATCHES, check_limits
from laydown.usecases.forms.make_form import make_form
from laydown.usecases.forms.trial_pictures import (
    ArrivingPicture,
    keep_pictures,
    pictures_of_trial,
    placed_picture,
)
from laydown.usecases.trial.attach_file import attach_file
from laydown.usecases.trial.begin_trial import begin_trial

SMALL = FormWish(
    code="F7K2", patches=60, reader=SPOT_READER, width_mm=150.0, parts=("bare window",), scenes=(), ppi=300
)


@pytest.fixture
def trial_id(records: Records) -> str:
    return begin_trial(records, "Rag for framed work", who="Ada").thing.id


def a_picture(ppi: float | None = 100.0) -> bytes:
    made = BytesIO()
    told = {"dpi": (ppi, ppi)} if ppi else {}
    Image.new("RGB", (200, 120), (180, 90, 60)).save(made, "PNG", **told)
    return made.getvalue()


def handed_in(records: Records, trial_id: str, content: bytes, name: str = "own.png") -> Attachment:
    (kept,) = keep_pictures(records, trial_id, [ArrivingPicture(name, BytesIO(content))], who="Ada").thing
    return kept


def test_a_form_is_made_with_geometry_and_reference(records: Records, trial_id: str) -> None:
    form = make_form(records, trial_id, SMALL, who="Ada", words="small").thing
    assert [(page.name, page.use, page.patches) for page in form.pages] == [("D1", "device", 60)]
    with records.look() as look:
        geometry = from_json(look.read_file(form.pages[0].geometry_sha256).decode())
        reference = read_target(look.read_file(form.reference_sha256), file="reference")
    assert [one.device for one in geometry.patches] == [tuple(row) for row in reference.device.tolist()]
    with pytest.raises(RefusedInput, match="form F7K2 already"):
        make_form(records, trial_id, SMALL, who="Ada")
    with pytest.raises(UnknownRecord):
        make_form(records, "another", replace(SMALL, code="K2"), who="Ada")


def test_only_pictures_of_the_trial_are_shown(records: Records, trial_id: str) -> None:
    """A hash opens no file of another trial, nor one that was never handed in as a picture of this one."""
    other = begin_trial(records, "Another", who="Ada").thing.id
    secret = attach_file(records, [a_picture()], about=other, name="client.png", who="Ada").thing
    stranger = OwnPicture(name="X.png", sha256=secret.sha256, width_mm=50.0, height_mm=30.0)
    wish = replace(SMALL, pictures=(stranger,))
    with pytest.raises(BadSetting, match="none of this trial's"):
        make_form(records, trial_id, wish, who="Ada")
    with records.look() as look:
        assert pictures_of_trial(look, trial_id) == ()
        with pytest.raises(BadSetting, match="none of this trial's"):
            placed_picture(look, trial_id, secret.sha256, ppi=None)
    assert make_form(records, other, wish, who="Ada").thing.pages[-1].use == "picture"
    # The file stays with the form even when the attachment is taken away.
    with records.work("took away", who="Ada", trial_id=other) as work:
        work.remove(Attachment, secret.id)
    with records.look() as look:
        assert [one.sha256 for one in pictures_of_trial(look, other)] == [secret.sha256]


def test_a_picture_has_the_size_its_tag_or_somebody_says(records: Records, trial_id: str) -> None:
    tagged = handed_in(records, trial_id, a_picture(100.0))
    bare = handed_in(records, trial_id, a_picture(None), "bare.png")
    with records.look() as look:
        placed = placed_picture(look, trial_id, tagged.sha256, ppi=None)
        # 200 pixels at 100 ppi are 2 in; PNG says pixels per metre as a whole number.
        assert placed.width_mm == pytest.approx(50.8, abs=0.01)
        assert placed_picture(look, trial_id, tagged.sha256, ppi=50.0).width_mm == pytest.approx(101.6)
        with pytest.raises(BadSetting, match="pixels per inch"):
            placed_picture(look, trial_id, bare.sha256, ppi=None)


@pytest.mark.parametrize(
    "name", ["x.png", "j.png", "Ågård – été.png", "写真.png", ";;.png", "a" * 90 + ".png"]
)
def test_whatever_a_picture_is_called_its_caption_can_be_printed(
    records: Records, trial_id: str, name: str
) -> None:
    own = handed_in(records, trial_id, a_picture(), name)
    with records.look() as look:
        picture = placed_picture(look, trial_id, own.sha256, ppi=300.0)  # 17 mm wide
    form = make_form(records, trial_id, replace(SMALL, pictures=(picture,)), who="Ada").thing
    assert form.pages[-1].name == "P1"


def test_what_is_no_picture_is_not_kept(records: Records, trial_id: str) -> None:
    files = [
        ArrivingPicture("own.png", BytesIO(a_picture())),
        ArrivingPicture("x.png", BytesIO(b"no picture")),
    ]
    with pytest.raises(UnreadableFile, match=r"x\.png"):
        keep_pictures(records, trial_id, files, who="Ada")
    with pytest.raises(BadSetting, match="end like a picture"):
        handed_in(records, trial_id, a_picture(), "own.exe")
    with pytest.raises(BadSetting, match="no picture was chosen"):
        keep_pictures(records, trial_id, [], who="Ada")
    with records.look() as look:
        assert look.count(Attachment) == 0


@pytest.mark.parametrize(
    ("wish", "said"),
    [
        (replace(SMALL, patches=int(MOST_PATCHES.value) + 1), "3001 patches"),
        (replace(SMALL, channels=tuple("CMYKABDEFGH")), "11 inks"),
        (replace(SMALL, channels=("C", "C")), "twice"),
        (replace(SMALL, channels=("C", "dark cyan")), "name an ink"),
        (replace(SMALL, parts=("wear bar", "wear bar")), "twice"),
        (replace(SMALL, seed=-1), "seed"),
        (replace(SMALL, edge_mm=float("nan")), "bare edge"),
        (replace(SMALL, reader=replace(SPOT_READER, patch_width_mm=101.0)), "patch width"),
        (replace(SMALL, reader=replace(SPOT_READER, longest_row_mm=0.0)), "row length"),
        (
            replace(
                SMALL, patches=700, reader=replace(SPOT_READER, patch_width_mm=99.0, patch_height_mm=99.0)
            ),
            "cover",
        ),
        (
            replace(SMALL, pictures=(OwnPicture(name="a", sha256="0", width_mm=9e9, height_mm=1.0),)),
            "wide or high",
        ),
    ],
)
def test_slips_of_the_keyboard_are_refused_at_once(wish: FormWish, said: str) -> None:
    with pytest.raises(BadSetting, match=said):
        check_limits(wish)
    check_limits(SMALL)


def test_everything_comes_as_one_file(records: Records, trial_id: str) -> None:
    own = handed_in(records, trial_id, a_picture())
    with records.look() as look:
        picture = placed_picture(look, trial_id, own.sha256, ppi=None)
    form = make_form(records, trial_id, replace(SMALL, pictures=(picture,)), who="Ada").thing
    options = DrawOptions(sheet="K7")
    made = BytesIO()
    write_form_archive(records, form.id, made, options=options)
    page = BytesIO()
    draw_form_page(records, form.id, "P1", page, options=options)
    with ZipFile(made) as box, records.look() as look:
        assert sorted(box.namelist()) == [
            "F7K2-D1-K7.tif", "F7K2-D1-geometry.json", "F7K2-P1-K7.tif", "F7K2-P1-geometry.json",
            "F7K2-read-me.txt", "F7K2-reference.txt",
        ]  # fmt: skip
        assert box.testzip() is None
        assert box.read("F7K2-P1-K7.tif") == page.getvalue()
        assert box.read("F7K2-reference.txt") == look.read_file(form.reference_sha256)
        assert b"Blades cut" in box.read("F7K2-read-me.txt")
    again = BytesIO()
    write_form_archive(records, form.id, again, options=options)
    assert again.getvalue() == made.getvalue()


def test_a_form_that_would_be_drawn_otherwise_is_refused(records: Records, trial_id: str) -> None:
    form = make_form(records, trial_id, SMALL, who="Ada").thing
    with records.work("changed", who="Ada", trial_id=trial_id) as work:
        work.change(replace(form, wish=replace(form.wish, seed=2)))
    with pytest.raises(RefusedInput, match="would not be drawn as it was made"):
        write_form_archive(records, form.id, BytesIO(), options=DrawOptions())
    with records.look() as look:
        assert look.get(TestForm, form.id).wish.seed == 2
