"""Forms are kept with their files, set aside, taken away, and read back where everything on them lies."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from itertools import product
from pathlib import Path

import numpy as np
import pytest

from bench_trial import BenchTrial, make_bench_trial
from drawn_forms import DEVICE, REFERENCE, a_drawn_form, geometry_of, with_page
from laydown.kernel.errors import (
    AlteredFile,
    BadSetting,
    ChangedMeanwhile,
    RefusedInput,
    UnknownRecord,
    UnreadableFile,
)
from laydown.kernel.version import __version__
from laydown.records.ledger import Records
from laydown.records.verifying import verify
from laydown.science.forms.form_wish import OwnPicture
from laydown.science.forms.geometry import from_json, to_json
from laydown.trials.remarks import Note
from laydown.trials.test_form import TestForm
from laydown.trials.trial import Trial
from laydown.usecases.bench.begin_run import begin_run
from laydown.usecases.bench.print_sheet import print_sheet
from laydown.usecases.forms.forms_of_trial import forms_of_trial, read_geometry
from laydown.usecases.forms.keep_form import DrawnForm, keep_form
from laydown.usecases.forms.new_code import codes_taken, new_form_code
from laydown.usecases.forms.set_form_aside import bring_form_back, set_form_aside
from laydown.usecases.forms.take_form_away import take_form_away
from laydown.usecases.trial.begin_trial import begin_trial
from laydown.usecases.trial.close_trial import close_trial
from laydown.usecases.trial.keep_note import keep_note
from laydown.usecases.trial.remove_trial import remove_trial
from laydown.usecases.undo import undo

TRIAL = BenchTrial().trial
OWN = b"a picture of the studio's own"


@pytest.fixture
def bench(records: Records) -> Records:
    make_bench_trial(records)
    return records


def kept(records: Records, code: str = "F7K2") -> TestForm:
    return keep_form(records, TRIAL, a_drawn_form(code), who="Ada").thing


def test_a_form_is_kept_with_its_files_and_undone(any_records: Records) -> None:
    make_bench_trial(any_records)
    stated = verify(any_records).notes  # checksums of profiles
    drawn = a_drawn_form(pictures=(OwnPicture(name="own.tif", sha256=any_records.vault.keep(OWN),
                                              width_mm=120.0, height_mm=80.0),))  # fmt: skip
    done = keep_form(any_records, TRIAL, drawn, who="Ada", words=" for the big prints ")
    (form,) = BenchTrial().facts(any_records).forms
    assert form == done.thing
    assert (form.code, form.by, form.words, form.made_with) == (
        "F7K2",
        "Ada",
        "for the big prints",
        __version__,
    )
    assert (form.wish, form.left_out) == (drawn.wish, drawn.left_out)
    assert [(page.name, page.use, page.patches) for page in form.pages] == [
        ("D1", "device", 3), ("D2", "device", 1), ("P1", "picture", 0),
    ]  # fmt: skip
    with any_records.look() as look:
        assert look.read_file(form.reference_sha256) == REFERENCE + b"F7K2"
        for page, told in zip(form.pages, drawn.pages, strict=True):
            assert look.read_file(page.geometry_sha256).decode() == told.geometry_json
        entry = look.entry(done.entry_id)
    assert (entry.action, entry.words, entry.trial_id) == (
        "made", "the form F7K2: pages D1, D2, P1 with 4 patches", TRIAL,
    )  # fmt: skip
    found = verify(any_records)
    assert found.sound
    assert (found.files, found.notes) == (5, stated)  # three pages, the reference, the picture
    undo(any_records, done.entry_id, who="Ada")
    assert BenchTrial().facts(any_records).forms == ()
    again = verify(any_records, tidy=True)
    assert (again.sound, again.tidied, again.files) == (True, 0, 5)  # undoing the undoing needs them


def test_files_of_a_form_are_never_tidied_away(bench: Records, clock) -> None:
    form = kept(bench)
    clock.advance(hours=100)
    assert verify(bench, tidy=True).tidied == 0
    assert len(read_geometry(bench, form)) == 3


@pytest.mark.parametrize(
    ("change", "told"),
    [
        (lambda d: replace(d, wish=replace(d.wish, code="f 7")), "cannot name a form"),
        (lambda d: replace(d, pages=()), "no page"),
        (lambda d: replace(d, reference=b""), "no list of its patches"),
        (lambda d: replace(d, wish=replace(d.wish, code="K3MM")), "page D1 of form F7K2"),
        (lambda d: with_page(d, 0, name="D3"), "form F7K2, page D3: its geometry is of page D1"),
        (lambda d: with_page(d, 1, patches=2), r"patches: 1; the page has .* patches: 2\."),
        (lambda d: with_page(d, 1, width_mm=209.9), "the page has 209.9 x 297 mm"),
        (lambda d: with_page(d, 2, length_mm=297.1), "the page has 210 x 297.1 mm"),
        (lambda d: with_page(d, 0, geometry_json="{"), "page D1: this is no geometry file"),
        (
            lambda d: replace(d, wish=replace(d.wish, pictures=(OwnPicture(name="own.tif", sha256="0" * 64,
                              width_mm=1.0, height_mm=1.0),))),
            "own.tif: this picture is not kept here",
        ),
    ],
)  # fmt: skip
def test_what_is_no_sound_drawing_is_refused(
    bench: Records, change: Callable[[DrawnForm], DrawnForm], told: str
) -> None:
    with pytest.raises(BadSetting, match=told):
        keep_form(bench, TRIAL, change(a_drawn_form()), who="Ada")
    assert BenchTrial().facts(bench).forms == ()


def test_a_page_may_be_as_much_larger_as_a_pixel(bench: Records) -> None:
    """At 360 ppi a pixel is 25.4 / 360 = 0.0706 mm."""
    assert keep_form(bench, TRIAL, with_page(a_drawn_form(), 0, width_mm=209.93), who="Ada").thing.pages


def test_two_pages_of_one_name_are_refused_and_nothing_is_kept(bench: Records) -> None:
    drawn = a_drawn_form()
    with pytest.raises(RefusedInput, match="two pages of form F7K2 are called D1"):
        keep_form(bench, TRIAL, replace(drawn, pages=(drawn.pages[0], drawn.pages[0])), who="Ada")
    assert forms_of_trial(bench, TRIAL).all == ()


def test_one_code_names_one_form_of_the_studio_for_ever(bench: Records) -> None:
    set_form_aside(bench, kept(bench).id, why="smudged", who="Ada")
    with pytest.raises(RefusedInput, match="form F7K2 already, of the trial “Spring trial”"):
        kept(bench)
    other = begin_trial(bench, "Autumn", who="Ada").thing
    remove_trial(bench, TRIAL, who="Ada")
    with pytest.raises(RefusedInput, match="one code names one form"):
        keep_form(bench, other.id, a_drawn_form(), who="Ada")
    assert keep_form(bench, other.id, a_drawn_form("K3MM"), who="Ada").thing.trial_id == other.id


def test_nothing_of_a_closed_trial_is_changed(bench: Records) -> None:
    form, aside = kept(bench), kept(bench, "K3MM")
    set_form_aside(bench, aside.id, why="smudged", who="Ada")
    close_trial(bench, TRIAL, who="Ada")
    for act in (
        lambda: kept(bench, "N4PP"),
        lambda: set_form_aside(bench, form.id, why="old", who="Ada"),
        lambda: bring_form_back(bench, aside.id, who="Ada"),
        lambda: take_form_away(bench, form.id, who="Ada"),
    ):
        with pytest.raises(RefusedInput, match="“Spring trial” is closed"):
            act()
    assert len(forms_of_trial(bench, TRIAL).in_use) == 1


def test_a_form_is_set_aside_with_its_reason_and_brought_back(bench: Records) -> None:
    first, second = kept(bench), kept(bench, "K3MM")
    with pytest.raises(BadSetting, match="why is it set aside"):
        set_form_aside(bench, first.id, why=" \n", who="Ada")
    done = set_form_aside(bench, first.id, why="  the wear bar\n smudged ", who="Bo")
    found = forms_of_trial(bench, TRIAL)
    assert (found.in_use, found.aside) == ((second,), (done.thing,))
    assert found.all == (done.thing, second)
    assert done.thing.set_aside_why == "the wear bar smudged"
    with bench.look() as look:
        entry = look.entry(done.entry_id)
        seen = look.revision(TestForm, first.id)
    assert (entry.action, entry.words) == ("set aside", "the form F7K2: the wear bar smudged")
    with pytest.raises(RefusedInput, match="aside already"):
        set_form_aside(bench, first.id, why="again", who="Bo")
    with pytest.raises(ChangedMeanwhile):
        bring_form_back(bench, first.id, who="Bo", seen=seen - 1)
    assert bring_form_back(bench, first.id, who="Bo", seen=seen).thing == first
    with pytest.raises(RefusedInput, match="not set aside"):
        bring_form_back(bench, first.id, who="Bo")


def test_undoing_what_was_changed_since_says_so_in_words(bench: Records) -> None:
    made = keep_form(bench, TRIAL, a_drawn_form(), who="Ada")
    set_form_aside(bench, made.thing.id, why="old", who="Ada")
    with pytest.raises(ChangedMeanwhile, match="this test form was changed again after that"):
        undo(bench, made.entry_id, who="Ada")


def test_a_form_is_taken_away_while_nothing_is_printed(bench: Records) -> None:
    form = kept(bench)
    keep_note(bench, form.id, "too many patches", who="Ada")
    gone = take_form_away(bench, form.id, who="Ada")
    with bench.look() as look:
        assert (look.count(TestForm), look.count(Note)) == (0, 0)
        assert codes_taken(look) == frozenset()
    undo(bench, gone.entry_id, who="Ada")
    assert forms_of_trial(bench, TRIAL).in_use == (form,)
    with bench.look() as look:
        assert [note.about for note in look.find(Note)] == [form.id]
    run = begin_run(bench, "rag", who="Ada").thing
    print_sheet(bench, "s-K2", run_id=run.id, who="Ada")
    with pytest.raises(RefusedInput, match=r"perhaps from form F7K2.*Set the form aside"):
        take_form_away(bench, form.id, who="Ada")
    other = begin_trial(bench, "Autumn", who="Ada").thing
    unprinted = keep_form(bench, other.id, a_drawn_form("K3MM"), who="Ada").thing
    take_form_away(bench, unprinted.id, who="Ada")


def test_what_is_not_there_is_said(bench: Records) -> None:
    with pytest.raises(UnknownRecord, match="no such test form"):
        set_form_aside(bench, "gone", why="old", who="Ada")
    with pytest.raises(UnknownRecord, match="no such trial"):
        forms_of_trial(bench, "gone")


def test_it_is_read_where_everything_lies(bench: Records) -> None:
    first, second, pictures = read_geometry(bench, kept(bench))
    assert [page.page for page in (first, second, pictures)] == ["D1", "D2", "P1"]
    assert tuple(one.device for one in first.patches) == DEVICE
    assert first == from_json(a_drawn_form().pages[0].geometry_json)


def test_a_geometry_file_that_suffered_is_named(bench: Records, tmp_path: Path) -> None:
    form = kept(bench)
    sha256 = form.pages[1].geometry_sha256
    path = tmp_path / "files" / sha256[:2] / sha256
    content = path.read_bytes()
    path.write_bytes(content.replace(b"210", b"211", 1))
    with pytest.raises(AlteredFile, match=r"^geometry of form F7K2, page D2: .*bytes have changed"):
        read_geometry(bench, form)
    path.unlink()
    with pytest.raises(UnknownRecord, match=r"^geometry of form F7K2, page D2: .*missing"):
        read_geometry(bench, form)


@pytest.mark.parametrize(
    ("content", "told"),
    [
        (b"\xff\xfe", "this is no geometry file"),
        (b"[" * 100_000, "this is no geometry file"),
        (b"{}", "no geometry file of a form"),
        (b'{"version": 99}', "of version 99"),
        (to_json(geometry_of("F7K2", "D9", [])).encode(), "this is the geometry of page D9 of form F7K2"),
        (to_json(geometry_of("OTHER", "D1", [])).encode(), "this is the geometry of page D1 of form OTHER"),
    ],
)
def test_a_file_that_is_another_is_refused(bench: Records, content: bytes, told: str) -> None:
    """As an archive from elsewhere may bring it: sealed, and not what its form says it is."""
    form = kept(bench)
    page = replace(form.pages[0], geometry_sha256=bench.vault.keep(content))
    with pytest.raises(UnreadableFile, match=f"^geometry of form F7K2, page D1: .*{told}"):
        read_geometry(bench, replace(form, pages=(page,)))


def test_codes_are_short_and_never_met_before(rng: np.random.Generator) -> None:
    taken: set[str] = set()
    for _ in range(500):
        code = new_form_code(taken, rng=rng)
        assert code not in taken
        taken.add(code)
    assert {len(code) for code in taken} == {4}
    signs = set("".join(taken))
    for alike in ("0OQ", "1IL", "2Z", "5S", "8B", "6G", "UV"):
        assert len(signs & set(alike)) <= 1, alike
    assert not any(code[0].isdigit() for code in taken)
    assert not signs & set("AEIOU")


def test_a_code_is_the_same_for_the_same_chance() -> None:
    first, second = (new_form_code((), rng=np.random.default_rng(3)) for _ in range(2))
    assert first == second
    assert new_form_code({first}, rng=np.random.default_rng(3)) != first


def test_when_hardly_a_code_is_left_it_is_found_and_then_said() -> None:
    letters, signs = "CDFHJKMNPRTVWXY", "23456789CDFHJKMNPRTVWXY"
    every = {"".join(code) for code in product(letters, signs, signs, signs)}
    assert new_form_code(every - {"M9YC"}, rng=np.random.default_rng(1)) == "M9YC"
    with pytest.raises(RefusedInput, match="every code of four signs"):
        new_form_code(every, rng=np.random.default_rng(1))


def test_codes_of_trials_in_the_trash_are_taken_too(bench: Records) -> None:
    kept(bench)
    with bench.work("moved to the trash", who="Ada") as work:
        work.change(replace(work.get(Trial, TRIAL), removed_at=work.now))
    with bench.look() as look:
        assert codes_taken(look) == {"F7K2"}
