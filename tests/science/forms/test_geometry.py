"""The geometry of a page: boxes as drawn, a file that says so, and what is wrong with a damaged one."""

from __future__ import annotations

import json

import jsonschema
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from laydown.kernel.errors import BadSetting
from laydown.science.forms.choose_patches import choose_patches
from laydown.science.forms.drawing import draw_bands
from laydown.science.forms.geometry import GEOMETRY_SCHEMA, PageGeometry, from_json, page_geometry, to_json
from laydown.science.forms.markers import mark_element
from laydown.science.forms.page import Box, Element, Page
from laydown.science.forms.patch_layout import lay_out_patches
from laydown.science.forms.reader import SPOT_READER, STRIP_READER

DARK = (0.0, 0.0, 0.0)


def page(reader=STRIP_READER) -> Page:
    found = lay_out_patches(choose_patches(80), Box(20, 20, 287, 150), reader, rng=np.random.default_rng(3))
    mark = mark_element(7, left_mm=2.0, top_mm=2.0, size_mm=8.0, dark=DARK)
    return Page("D1", 297.0, 160.0, ("R", "G", "B"), (mark, *found.pages[0]))


@pytest.mark.parametrize("ppi", [300, 360, 600, 720])
def test_boxes_are_where_the_pixels_are(ppi):
    whole = page(SPOT_READER)
    geometry = page_geometry(whole, form="F7K2", ppi=ppi)
    per_mm = ppi / 25.4
    rows = np.concatenate(list(draw_bands(whole, ppi=ppi))) if ppi <= 360 else None
    for one, drawn in zip(geometry.patches, whole.of_kind("patch"), strict=True):
        sides = np.array([one.box.left_mm, one.box.top_mm, one.box.right_mm, one.box.bottom_mm]) * per_mm
        np.testing.assert_allclose(sides, np.round(sides), atol=1e-6)
        assert abs(one.box.left_mm - drawn.box.left_mm) <= 0.5 / per_mm + 1e-9
        if rows is not None:
            left, top, right, bottom = np.round(sides).astype(int)
            assert (rows[top:bottom, left:right] == np.round(np.array(one.device) * 255)).all()
    (mark,) = geometry.marks
    assert mark.facts["number"] == 7
    assert mark.device is None
    assert mark.box == whole.of_kind("mark")[0].box  # outlines are drawn exactly


def test_the_file_is_as_its_schema_says():
    jsonschema.Draft202012Validator.check_schema(GEOMETRY_SCHEMA)
    text = to_json(page_geometry(page(), form="F7K2", ppi=360))
    jsonschema.validate(json.loads(text), GEOMETRY_SCHEMA)


def test_a_geometry_comes_back():
    geometry = page_geometry(page(), form="F7K2", ppi=360)
    back = from_json(to_json(geometry))
    assert to_json(back) == to_json(geometry)
    assert [one.facts for one in back.elements] == [dict(one.facts) for one in geometry.elements]
    assert (back.form, back.page, back.ppi, back.channels) == ("F7K2", "D1", 360, ("R", "G", "B"))
    for one, other in zip(back.elements, geometry.elements, strict=True):
        # Written to a tenth of a micrometre.
        assert one.box.left_mm == pytest.approx(other.box.left_mm, abs=6e-5)


facts = st.dictionaries(
    st.text(max_size=5),
    st.one_of(
        st.text(max_size=5),
        st.integers(-1000, 1000),
        st.floats(allow_nan=False, allow_infinity=False),
        st.lists(st.floats(allow_nan=False, allow_infinity=False), max_size=4).map(tuple),
    ),
    max_size=4,
)


@settings(deadline=None)
@given(facts, st.text(max_size=8), st.floats(0, 2000), st.floats(0, 2000))
def test_whatever_is_known_of_an_element_comes_back(known, name, left, top):
    one = Element("patch", name, Box(left, top, left + 1, top + 1), (), known)
    geometry = page_geometry(Page("P", 10, 10, ("K",), (one,)), form=name, ppi=300)
    jsonschema.validate(json.loads(to_json(geometry)), GEOMETRY_SCHEMA)
    back = from_json(to_json(geometry))
    assert isinstance(back, PageGeometry)
    assert dict(back.elements[0].facts) == known
    assert back.elements[0].name == name


@pytest.mark.parametrize(
    ("damage", "said"),
    [
        (lambda told: told.pop("version"), "no geometry file"),
        (lambda told: told.update(version=2), "version 2"),
        (lambda told: told.pop("ppi"), "damaged: 'ppi'"),
        (lambda told: told["elements"][3].pop("box_mm"), "element 4: 'box_mm'"),
        (lambda told: told["elements"][0].update(box_mm=[1, 2, 3]), "element 1"),
        (lambda told: told["elements"][0].update(name=5), "element 1: 5 is not a text"),
        (lambda told: told["elements"][0]["facts"].update(number=None), "element 1: a fact is None"),
        (lambda told: told.update(channels=[1]), "1 is not a text"),
    ],
)
def test_damaged_files_are_refused_with_the_place(damage, said):
    told = json.loads(to_json(page_geometry(page(), form="F7K2", ppi=360)))
    damage(told)
    with pytest.raises(BadSetting, match=said):
        from_json(json.dumps(told))


@pytest.mark.parametrize("text", ["", "not json", "[]", "3"])
def test_other_files_are_refused(text):
    with pytest.raises(BadSetting, match="no geometry file"):
        from_json(text)
