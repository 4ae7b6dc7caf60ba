"""A picture for every symptom: neutral, unlike every other, and safe to set into any page."""

from __future__ import annotations

import itertools
import re
import subprocess
import sys

import numpy as np
import pytest
from lxml import etree

from laydown.report.symptom_drawings import DRAWINGS, symptom_drawing
from laydown.science.faults import packaged_faults

SVG = "{http://www.w3.org/2000/svg}"
SHAPES = {"svg", "g", "title", "rect", "circle", "ellipse", "line", "path", "polygon"}


def elements(drawing):
    return [element for element in etree.fromstring(drawing.encode()).iter() if isinstance(element.tag, str)]


def test_every_symptom_has_its_own_picture_and_no_picture_is_left_over():
    named = [symptom.drawing for symptom in packaged_faults().symptoms.values()]
    assert len(set(named)) == len(named)
    assert set(named) == set(DRAWINGS)


@pytest.mark.parametrize("drawing_id", DRAWINGS)
def test_a_picture_is_a_small_svg_with_a_title(drawing_id):
    drawing = symptom_drawing(drawing_id)
    root = etree.fromstring(drawing.encode())
    assert root.tag == f"{SVG}svg"
    assert root.get("viewBox") == "0 0 96 72"
    assert root[0].tag == f"{SVG}title"
    assert len(root[0].text) > 8
    assert len(drawing) < 40_000


@pytest.mark.parametrize("drawing_id", DRAWINGS)
def test_a_picture_is_neutral(drawing_id):
    """Greys only: colour on a page is measured colour."""
    paints = {
        value
        for element in elements(symptom_drawing(drawing_id))
        for name, value in element.attrib.items()
        if name in {"fill", "stroke", "stop-color", "color"}
    }
    assert paints - {"none"}
    for paint in paints - {"none"}:
        level = re.fullmatch(r"#([0-9a-f]{2})([0-9a-f]{2})([0-9a-f]{2})", paint)
        assert level, paint
        assert len(set(level.groups())) == 1, f"{paint} is not neutral"


@pytest.mark.parametrize("drawing_id", [*DRAWINGS, "no-such-picture"])
def test_a_picture_may_stand_many_times_on_a_strict_page(drawing_id):
    """No style, script, link or id: ids would clash, and a strict content policy stops the rest."""
    for element in elements(symptom_drawing(drawing_id)):
        assert element.tag.removeprefix(SVG) in SHAPES
        assert not {"id", "style", "class", "href"} & set(element.attrib)
        assert not any(name.startswith("on") for name in element.attrib)


@pytest.mark.parametrize("drawing_id", DRAWINGS)
def test_every_number_in_a_picture_is_one(drawing_id):
    for element in elements(symptom_drawing(drawing_id)):
        for name in ("x", "y", "width", "height", "cx", "cy", "r", "rx", "ry", "stroke-width", "opacity"):
            if name in element.attrib:
                assert np.isfinite(float(element.attrib[name]))
        for name in ("r", "rx", "ry", "width", "height"):
            assert float(element.get(name, "1")) >= 0.0
        told = element.get("d", "") + element.get("points", "")
        assert not re.search(r"nan|inf|e-", told), told


def test_titles_differ():
    titles = [etree.fromstring(symptom_drawing(d).encode())[0].text for d in DRAWINGS]
    assert len(set(titles)) == len(titles)


def test_a_symptom_without_a_picture_gets_a_plain_print():
    plain = symptom_drawing("no-such-picture")
    assert plain == symptom_drawing("")
    assert "<title>A print</title>" in plain
    assert plain not in {symptom_drawing(d) for d in DRAWINGS}


def test_pictures_differ_at_72_pixels():
    """Drawn small, every two differ in at least a twentieth of their elements by a clear step of grey."""
    import vl_convert

    small = {d: _levels(vl_convert.svg_to_png(symptom_drawing(d), scale=0.75)) for d in DRAWINGS}
    for first, second in itertools.combinations(DRAWINGS, 2):
        apart = np.abs(small[first] - small[second]) > 40
        assert apart.mean() > 0.05, f"{first} looks like {second}"


def _levels(png):
    """Grey levels of an 8-bit RGBA picture without interlacing, by the rules of PNG (ISO/IEC 15948)."""
    import struct
    import zlib

    place, data, size = 8, b"", (0, 0)
    while place < len(png):
        (length,) = struct.unpack(">I", png[place : place + 4])
        kind, body = png[place + 4 : place + 8], png[place + 8 : place + 8 + length]
        if kind == b"IHDR":
            width, height, depth, colour = struct.unpack(">IIBB", body[:10])
            assert (depth, colour) == (8, 6)
            size = (width, height)
        data += body if kind == b"IDAT" else b""
        place += 12 + length
    width, height = size
    assert width == 72
    raw = np.frombuffer(zlib.decompress(data), np.uint8).reshape(height, 1 + 4 * width)
    image = np.zeros((height + 1, 4 * (width + 1)), np.int64)
    for row in range(height):
        for column in range(4 * width):
            left, up, corner = image[row + 1, column], image[row, column + 4], image[row, column]
            guess = left + up - corner
            paeth = min((left, up, corner), key=lambda value: abs(guess - value))
            added = (0, left, up, (left + up) // 2, paeth)[raw[row, 0]]
            image[row + 1, column + 4] = (raw[row, 1 + column] + added) % 256
    return image[1:, 4::4]


def test_importing_pictures_loads_no_drawing_library():
    heavy = "{'vl_convert', 'plotly', 'typst'} & set(sys.modules)"
    code = f"import sys, laydown.report.symptom_drawings; print({heavy})"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, timeout=60)
    assert done.stdout.strip() == "set()", done.stderr
