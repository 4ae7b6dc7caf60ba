"""A studio's own file of faults: read as written, and refused in words a printmaker understands."""

from __future__ import annotations

import contextlib
import json
from importlib.resources import files
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from laydown.kernel.errors import BadSetting, LaydownError, TooLarge
from laydown.science.faults import FORMAT, parse_faults

ROOT = Path(__file__).resolve().parents[3]


def read(**parts):
    return parse_faults(json.dumps({"format": FORMAT, **parts}).encode(), file="ours.json")


SYMPTOM = {
    "id": "ghost",
    "name": "Ghost",
    "sentence": "A faint second image.",
    "family": "ink",
    "source": "us",
}
CAUSE = {
    "id": "old-file",
    "name": "Old file",
    "explanation": "It is old.",
    "family": "files",
    "source": "us",
} | {"fixes": ["Take the new one."]}
CHECK = {
    "id": "look-at-date",
    "question": "Is the date old?",
    "how": "Look.",
    "cost": "nothing",
    "source": "us",
} | {"minutes": 1}


def test_a_file_may_hold_one_number_only():
    model = read(priors={"missing-nozzles": 0.2})
    assert model.priors == {"missing-nozzles": 0.2}
    assert not model.symptoms
    assert model.file == "ours.json"


def test_every_part_is_read():
    model = read(
        symptoms=[SYMPTOM],
        causes=[CAUSE],
        checks=[{**CHECK, "wait_hours": 2, "caution": "Mind the step."}],
        leaks={"ghost": 0.02},
        links={"old-file": {"ghost": 0.7, "hook": 0}},
        bearings={"look-at-date": {"otherwise": 0.1, "yes_if": {"old-file": 0.9}}},
        speaks={"hook-found": {"old-file": 2}},
        numbers_from="our own prints of last year",
    )
    assert model.symptoms["ghost"].drawing == ""
    assert model.causes["old-file"].fixes == ("Take the new one.",)
    # 1 minute at the bench and 2 hours of waiting at 2 minutes to the hour.
    assert model.checks["look-at-date"].effort_minutes == pytest.approx(5.0)
    assert model.links["old-file"] == {"ghost": 0.7, "hook": 0.0}
    assert model.bearings["look-at-date"].yes_if == {"old-file": 0.9}
    assert model.speaks["hook-found"] == {"old-file": 2.0}
    assert model.numbers_from == "our own prints of last year"


REFUSALS = [
    (b"{", "ours.json, line 1: it is not JSON"),
    (b"\xff\xfe\x00", "it is not JSON"),
    (b"[" * 100_000, "nested too deeply|not JSON"),
    (b"[]", "the file should be a list of entries in braces"),
    (b"{}", 'Begin it with "format": "laydown faults 1"'),
    ({"symptom": []}, 'has "symptom", which means nothing here'),
    ({"symptoms": {}}, '"symptoms" should be a list in brackets'),
    ({"symptoms": [3]}, "entry 1 of symptoms should be a list of entries in braces"),
    ({"symptoms": [{**SYMPTOM, "id": "Ghost image"}]}, 'cannot be an id.*such as "wavy-edge"'),
    ({"symptoms": [SYMPTOM, SYMPTOM]}, '"ghost" is described twice in symptoms'),
    ({"symptoms": [{**SYMPTOM, "name": ""}]}, '"name" of "ghost" in symptoms should be text'),
    ({"symptoms": [{**SYMPTOM, "sentence": "x" * 1001}]}, "up to 1000 characters"),
    ({"symptoms": [SYMPTOM] * 401}, "has 401 entries"),
    ({"causes": [{**CAUSE, "fixes": []}]}, '"old-file" in causes has no fixes'),
    ({"causes": [{**CAUSE, "fixes": "mend"}]}, "has no fixes"),
    ({"causes": [{**CAUSE, "prior": 0.1}]}, 'has "prior", which means nothing here'),
    ({"checks": [{**CHECK, "cost": "a lot"}]}, '"cost" of "look-at-date" in checks is unknown'),
    ({"checks": [{**CHECK, "minutes": 0}]}, '"minutes" of "look-at-date" in checks is 0.*between 0.5 and'),
    ({"checks": [{**CHECK, "minutes": True}]}, '"minutes" of .* is true'),
    ({"priors": {"old-file": 1}}, '"old-file" in priors is 1. Give a chance, such as 0.3, between 0.0001'),
    ({"priors": {"old-file": "often"}}, '"old-file" in priors is "often"'),
    ({"priors": {"old-file": 10**400}}, '"old-file" in priors is 1000'),
    ({"leaks": {"ghost": 0}}, '"ghost" in leaks is 0'),
    ({"links": {"old-file": {"ghost": -0.1}}}, '"ghost" in links of "old-file" is -0.1'),
    ({"links": {"old-file": 0.3}}, 'links of "old-file" should be a list of entries in braces'),
    ({"bearings": {"k": {"yes_if": {}}}}, 'bearings of "k" lack "otherwise"'),
    ({"bearings": {"k": {"otherwise": 0.1, "no_if": {}}}}, 'has "no_if", which means nothing here'),
    ({"speaks": {"hook-found": {"old-file": 0}}}, '"old-file" in speaks of "hook-found" is 0'),
    (b'{"format": "laydown faults 1", "priors": {"a": 0.1, "a": 0.2}}', '"a" stands twice'),
    (b'{"format": "laydown faults 1", "priors": {"a": NaN}}', "NaN is not a number that can be used"),
]


@pytest.mark.parametrize(("told", "words"), REFUSALS)
def test_a_file_that_makes_no_sense_is_refused_with_its_place(told, words):
    data = told if isinstance(told, bytes) else json.dumps({"format": FORMAT, **told}).encode()
    with pytest.raises(BadSetting, match=words) as refused:
        parse_faults(data, file="ours.json")
    assert str(refused.value).startswith("ours.json")
    assert refused.value.todo


def test_a_huge_file_is_refused_before_it_is_read():
    with pytest.raises(TooLarge, match="larger than 2 MB"):
        parse_faults(b" " * 2_000_001, file="ours.json")


def _packaged(name):
    return files("laydown.science.faults").joinpath("data", name).read_bytes()


@settings(deadline=None, max_examples=150)
@given(st.data())
def test_damaged_files_are_read_or_refused_and_nothing_else(data):
    sound = _packaged(data.draw(st.sampled_from(["symptoms.json", "checks.json", "strengths.json"])))
    place = data.draw(st.integers(0, len(sound) - 1))
    damaged = (
        sound[:place] + data.draw(st.binary(max_size=6)) + sound[place + data.draw(st.integers(0, 40)) :]
    )
    with contextlib.suppress(LaydownError):
        parse_faults(damaged, file="ours.json")


def test_the_example_in_the_method_page_is_read():
    text = (ROOT / "docs/methods/retrace.md").read_text(encoding="utf-8")
    example = text.split("```json\n")[1].split("```")[0]
    model = parse_faults(example.encode(), file="example.json")
    assert model.causes
    assert model.priors
