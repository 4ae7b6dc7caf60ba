"""Readings that come in are held against the trial's form: its page and order are known without a name."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import pytest

from laydown.records.ledger import Records
from laydown.science.colour import lab_from_reflectance
from laydown.science.forms.form_wish import FormWish
from laydown.science.prints import MATTE_COTTON, WAVELENGTHS_NM, Noise, print_sheet, read_sheet
from laydown.science.readings import read_measurements
from laydown.trials.measured import Reading
from laydown.trials.test_form import TestForm
from laydown.usecases.forms.composed import composed
from laydown.usecases.forms.make_form import make_form
from laydown.usecases.forms.set_form_aside import set_form_aside
from laydown.usecases.measuring.answer_doubt import answer_doubt
from laydown.usecases.measuring.answers import act_of
from laydown.usecases.measuring.attach_readings import attach_readings
from laydown.usecases.measuring.parsed_file import HandedIn

WISH = FormWish(code="F7K2", patches=120, parts=(), scenes=())
ROWS = composed(WISH).layout


def read_of(order: Sequence[int] | np.ndarray, *, device: bool = False, seed: int = 3) -> HandedIn:
    """What an instrument writes of a sheet printed from the form, in the order in which it was read."""
    rng = np.random.default_rng(seed)
    state = print_sheet(len(ROWS.order), noise=Noise(), rng=rng)
    spectra = read_sheet(ROWS.device, medium=MATTE_COTTON, sheet_state=state, noise=Noise(), rng=rng)
    lab = lab_from_reflectance(spectra, wavelengths_nm=WAVELENGTHS_NM)
    names = "SAMPLE_ID LAB_L LAB_A LAB_B" + (" RGB_R RGB_G RGB_B" if device else "")
    lines = []
    for number, row in enumerate(order, 1):
        values = [f"{value:.3f}" for value in lab[row]]
        values += [f"{255 * value:.0f}" for value in ROWS.device[row]] if device else []
        lines.append(f"{number} {' '.join(values)}")
    text = (
        'CGATS.17\nMEASUREMENT_SOURCE "MeasurementCondition=M1 Illumination=D50 ObserverAngle=2"\n'
        f"BEGIN_DATA_FORMAT\n{names}\nEND_DATA_FORMAT\nNUMBER_OF_SETS {len(lines)}\nBEGIN_DATA\n"
        + "\n".join(lines)
        + "\nEND_DATA\n"
    )
    return HandedIn("K2.txt", text.encode())


@pytest.fixture
def form(bench) -> TestForm:
    return make_form(bench.records, "spring", WISH, who="Ada").thing


def taken(bench, file: HandedIn) -> Reading:
    (reading,) = attach_readings(bench.records, "spring", [file], who="Ada").thing.readings
    return reading


def mended_table(records: Records, reading: Reading):
    with records.look() as look:
        content = look.read_file(reading.mended_sha256)
    return read_measurements(content, file="mended").tables[0]


def in_order(reading: Reading, records: Records) -> None:
    table = mended_table(records, reading)
    assert table.ids == tuple(place.name for place in ROWS.places)
    np.testing.assert_allclose(table.device, ROWS.device, atol=1e-6)
    truth = read_measurements(read_of(range(len(ROWS.order))).content, file="truth").tables[0]
    np.testing.assert_allclose(table.lab, truth.lab, atol=1e-3)


def test_a_reading_with_device_values_in_order_is_asked_nothing(bench, form):
    reading = taken(bench, read_of(range(120), device=True))
    assert reading.doubts == ()


def test_device_values_that_a_file_lacks_come_from_the_form(bench, form):
    reading = taken(bench, read_of(range(120)))
    (doubt,) = reading.doubts
    assert doubt.kind == "form_order"
    mend = next(one for one in doubt.answers if act_of(one) == "mend")
    assert "device values of form F7K2" in mend or "F7K2" in mend
    done = answer_doubt(bench.records, reading.id, kind=doubt.kind, answer=mend, who="Ada").thing
    in_order(done, bench.records)
    assert done.file_sha256 == reading.file_sha256


def test_a_turned_sheet_is_asked_about_once_and_mended(bench, form):
    reading = taken(bench, read_of(range(119, -1, -1)))
    (doubt,) = reading.doubts
    assert doubt.kind == "form_order"
    assert "F7K2" in doubt.words
    assert [act_of(one) for one in doubt.answers] == ["mend", "keep", "leave_out"]
    done = answer_doubt(bench.records, reading.id, kind=doubt.kind, answer=doubt.answers[0], who="Ada").thing
    in_order(done, bench.records)


def test_a_reading_of_something_else_is_asked_about(bench, form):
    rng = np.random.default_rng(8)
    reading = taken(bench, read_of(rng.permutation(120)))
    (doubt,) = reading.doubts
    assert doubt.kind == "wrong_form"
    assert "form F7K2" in doubt.words
    assert [act_of(one) for one in doubt.answers] == ["keep", "leave_out"]


def test_a_form_that_was_set_aside_is_still_recognised(bench, form):
    set_form_aside(bench.records, form.id, why="the patches were too small", who="Ada")
    reading = taken(bench, read_of(range(120), device=True))
    (doubt,) = reading.doubts
    assert doubt.kind == "wrong_form"
    assert "set aside" in doubt.words


def test_without_a_form_nothing_changes(bench):
    assert taken(bench, read_of(range(120), device=True)).doubts == ()
