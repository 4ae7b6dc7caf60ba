"""Everything that can be kept has one plain form, and comes back from it as it was."""

from __future__ import annotations

import dataclasses
import json
import types
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta, timezone
from typing import Any, Literal, Union, get_args, get_origin, get_type_hints

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from sqlalchemy.dialects import sqlite

from laydown.kernel.errors import RefusedInput
from laydown.records.columns import Moment
from laydown.records.shapes import digest_of, from_plain, thing_from, to_plain, to_row
from laydown.records.tables import TABLES
from laydown.science.forms.reader import STRIP_READER, Reader
from laydown.trials.sheets import BenchRun, SheetEvent, Tick
from laydown.trials.stock import Lot, Roll
from laydown.trials.trial import Plan

SQLITE = sqlite.dialect()
NOON = datetime(2026, 3, 2, 12, tzinfo=UTC)
PRINTED = SheetEvent(id="e", trial_id="t", sheet_id="s", at=NOON, kind="printed")
RUN = BenchRun(id="r", trial_id="t", candidate_id="c", printer_id="p", begun_at=NOON)

# What a field of each type may hold. Text: no NUL, no half characters; PostgreSQL could not keep them.
TEXT = st.text(st.characters(codec="utf-8", exclude_characters="\0"), max_size=12)
ZONES = st.integers(-720, 720).map(lambda minutes: timezone(timedelta(minutes=minutes)))
BOUNDS = (datetime(1900, 1, 2), datetime(2200, 1, 1))  # noqa: DTZ001 - the zone is drawn
PLAIN = {
    str: TEXT,
    int: st.integers(-(2**63) + 1, 2**63 - 1),
    float: st.floats(allow_nan=False, allow_infinity=False),
    bool: st.booleans(),
    datetime: st.datetimes(*BOUNDS, timezones=ZONES),
    date: st.dates(date(1900, 1, 1), date(2200, 1, 1)),
}
SIZES = st.floats(20.0, 500.0)
# A reader refuses sizes that no patch can have.
READERS = st.builds(
    replace,
    st.just(STRIP_READER),
    kind=st.sampled_from(get_args(get_type_hints(Reader)["kind"])),
    patch_width_mm=SIZES,
    gap_mm=st.floats(1.0, 20.0),
    longest_row_mm=st.none() | SIZES,
    row_marks=st.booleans(),
    row_pitch_mm=SIZES,
)


def values(kind: Any) -> st.SearchStrategy[Any]:
    """Any value a field of this type may hold."""
    if kind is Reader:
        return READERS
    if dataclasses.is_dataclass(kind):
        hints = get_type_hints(kind)
        return st.builds(kind, **{item.name: values(hints[item.name]) for item in dataclasses.fields(kind)})
    if get_origin(kind) is Literal:
        return st.sampled_from(get_args(kind))
    if get_origin(kind) in (Union, types.UnionType):
        return st.one_of(*(st.none() if part is type(None) else values(part) for part in get_args(kind)))
    if get_origin(kind) is tuple:
        return st.lists(values(get_args(kind)[0]), max_size=3).map(tuple)
    return PLAIN[kind]


@pytest.mark.parametrize("noun", TABLES, ids=lambda noun: noun.__name__)
@settings(deadline=None, max_examples=25)
@given(data=st.data())
def test_any_thing_comes_back_as_it_was(noun: type[Any], data: st.DataObject) -> None:
    thing = data.draw(values(noun))
    plain = to_plain(thing)
    again = from_plain(noun, json.loads(json.dumps(plain, allow_nan=False)))
    assert again == thing
    assert to_plain(again) == plain
    assert digest_of(plain) == digest_of(to_plain(again))


@pytest.mark.parametrize("noun", TABLES, ids=lambda noun: noun.__name__)
@settings(deadline=None, max_examples=15)
@given(data=st.data())
def test_any_row_becomes_the_thing_again(noun: type[Any], data: st.DataObject) -> None:
    """As through SQLite: moments through their column type, compound values through JSON text."""
    thing = data.draw(values(noun))
    row = to_row(thing, to_plain(thing))
    kept = {}
    for name, value in row.items():
        kind = TABLES[noun].c[name].type
        if isinstance(kind, Moment):
            kept[name] = kind.process_result_value(kind.process_bind_param(value, SQLITE), SQLITE)
        else:
            kept[name] = json.loads(json.dumps(value)) if isinstance(value, list | dict) else value
    assert thing_from(noun, kept) == thing


def test_the_same_moment_has_one_form() -> None:
    """12:00 UTC is 13:00 an hour further east: the same moment, so the same digest."""
    east = replace(PRINTED, at=NOON.astimezone(timezone(timedelta(hours=1))))
    assert to_plain(east)["at"] == "2026-03-02T12:00:00Z"
    assert digest_of(to_plain(east)) == digest_of(to_plain(PRINTED))
    plain = to_plain(PRINTED) | {"at": "2026-03-02T13:00:00+01:00"}
    assert from_plain(SheetEvent, plain).at.utcoffset() == timedelta(0)


def test_a_whole_number_in_a_field_for_numbers_is_a_number() -> None:
    plain = to_plain(Roll(id="r", lot_id="l", form="roll", width_mm=432))
    assert isinstance(plain["width_mm"], float)


@pytest.mark.parametrize(
    ("thing", "told"),
    [
        (replace(PRINTED, at=datetime(2026, 3, 2)), "at is a moment without a time zone"),  # noqa: DTZ001
        (replace(RUN, ticks=(Tick(step="x", at=datetime(2026, 3, 2)),)), "ticks at is a moment without"),  # noqa: DTZ001
        (replace(PRINTED, room_c=float("nan")), "room_c is no finite number"),
        (replace(PRINTED, room_c=float("inf")), "room_c is no finite number"),
        (replace(PRINTED, room_c="21"), "room_c is no number"),
        (replace(PRINTED, room_c=True), "room_c is no number"),
        (replace(PRINTED, words="a\0b"), "words holds a NUL"),
        (replace(PRINTED, words="a\ud800"), "words holds half a character"),
        (replace(PRINTED, words=None), "words is no text"),
        (replace(PRINTED, kind="painted"), "kind is 'painted' and not one of"),
        (replace(PRINTED, coat="thick"), "coat is no coat but 'thick'"),
        (Plan(id="p", trial_id="t", seed=2**63), "seed is no whole number that can be kept"),
        (Plan(id="p", trial_id="t", days=1.5), "days is no whole number"),
        (Plan(id="p", trial_id="t", days=True), "days is no whole number"),
        (Lot(id="l", medium_id="m", code="1", received=NOON), "received is no day"),
    ],
)
def test_what_no_database_could_give_back_is_refused(thing: Any, told: str) -> None:
    with pytest.raises(RefusedInput, match=f"^{type(thing).__name__} .: {told}"):
        to_plain(thing)


@pytest.mark.parametrize(
    ("change", "told"),
    [
        ({"colour": "red"}, "colour is no field of it.*A newer Laydown"),
        ({"coat": {"product": "Clear", "shine": 3}}, r"coat\.shine is no field of it"),
        ({"at": "2026-03-02T12:00:00"}, "at is a moment without a time zone"),
        ({"at": "noon"}, "at: Input should be a valid datetime"),
        ({"kind": "painted"}, "kind: Input should be 'printed'"),
        ({"room_c": "NaN"}, "room_c is no finite number"),
    ],
)
def test_what_others_wrote_is_not_believed(change: dict[str, Any], told: str) -> None:
    with pytest.raises(RefusedInput, match=told) as refused:
        from_plain(SheetEvent, to_plain(PRINTED) | change, file="trial.json")
    assert refused.value.file == "trial.json"


def test_a_missing_field_is_named_and_one_with_a_usual_value_is_filled_in() -> None:
    plain = to_plain(PRINTED)
    with pytest.raises(RefusedInput, match="sheet_id: Field required"):
        from_plain(SheetEvent, {name: value for name, value in plain.items() if name != "sheet_id"})
    assert from_plain(SheetEvent, {name: plain[name] for name in plain if name != "words"}) == PRINTED


def test_an_unknown_field_deep_inside_is_found() -> None:
    plain = to_plain(replace(RUN, ticks=(Tick(step="gap", at=NOON), Tick(step="head", at=NOON))))
    plain["ticks"][1]["mood"] = "good"
    with pytest.raises(RefusedInput, match=r"ticks\.mood is no field of it"):
        from_plain(BenchRun, plain)
