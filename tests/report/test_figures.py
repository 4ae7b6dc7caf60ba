from __future__ import annotations

import csv
import io
import json
import re
import xml.etree.ElementTree as ET
from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from laydown.kernel.errors import NotEnoughData
from laydown.report.figures import (
    Figure,
    differences,
    every_figure,
    figure_csv,
    figure_png,
    figure_svg,
    gamut_3d,
    gamut_outlines,
    gamut_slices,
    grey_balance,
    house_differences,
    intervals,
    patch_map,
    tone_curves,
    white_and_brightener,
)
from laydown.report.figures.direct_labels import dodge
from laydown.report.figures.gamut_outlines import hue_outline
from laydown.report.figures.style import line_styles
from laydown.usecases.comparison import Comparison, GamutBody

HOSTILE = "<b onload='x'> & \"$#*_\\ \u202edatum.x[0]"
NEW = "Tern Baryta 310"


def drawable(comparison: Comparison, width: int) -> dict[str, Figure]:
    return {
        "tone": tone_curves(comparison, width=width),
        "grey": grey_balance(comparison, width=width),
        "outlines": gamut_outlines(comparison, width=width),
        "slices": gamut_slices(comparison, width=width),
        "intervals": intervals(comparison, "dmax_visual", width=width),
        "differences": differences(comparison, "dmax_visual", width=width),
        "house": house_differences(comparison, NEW, width=width),
        "white": white_and_brightener(comparison, width=width),
        "patches": patch_map(comparison, NEW, width=width),
    }


def size(svg: str) -> tuple[float, float]:
    root = ET.fromstring(svg)
    return float(root.attrib["width"]), float(root.attrib["height"])


@pytest.mark.parametrize("width", [320, 640, 960])
def test_figures_draw_offline_and_keep_their_width(comparison: Comparison, width: int) -> None:
    for name, figure in drawable(comparison, width).items():
        wide, tall = size(figure_svg(figure))
        assert wide <= width * 1.06, name
        assert tall > 60, name


def test_png_is_a_png(comparison: Comparison) -> None:
    small = figure_png(gamut_outlines(comparison, width=320), scale=1)
    large = figure_png(gamut_outlines(comparison, width=320), scale=2)
    assert small.startswith(b"\x89PNG")
    width_at = slice(16, 20)
    assert int.from_bytes(large[width_at]) == pytest.approx(2 * int.from_bytes(small[width_at]), abs=2)


def test_only_measured_colour_is_coloured(comparison: Comparison) -> None:
    for name, figure in drawable(comparison, 640).items():
        svg = figure_svg(figure)
        found = re.findall(r"#([0-9a-fA-F]{6})\b", svg)
        found += [
            "".join(f"{int(v):02x}" for v in rgb) for rgb in re.findall(r"rgb\((\d+), ?(\d+), ?(\d+)\)", svg)
        ]
        grey = all(c[0:2] == c[2:4] == c[4:6] for c in found)
        assert grey is (name != "patches"), name


def test_title_and_caption_are_not_drawn(comparison: Comparison) -> None:
    for name, figure in drawable(comparison, 640).items():
        drawn = "".join(ET.fromstring(figure_svg(figure)).itertext())
        assert figure.caption not in drawn, name
        assert figure.title not in drawn or name == "intervals", name


def test_captions_name_the_condition_and_alt_texts_say_something(comparison: Comparison) -> None:
    for figure in every_figure(comparison):
        assert "M1" in figure.caption
        assert len(figure.alt_text) > 30
        json.dumps(dict(figure.spec), allow_nan=False)


def test_ids_are_different_and_everything_is_there(comparison: Comparison) -> None:
    figures = every_figure(comparison)
    assert len({f.id for f in figures}) == len(figures)
    kinds = {f.id.split("-")[0] for f in figures}
    assert kinds >= {"intervals", "differences", "against", "tone", "grey", "gamut", "white", "patches"}


def test_tables_hold_the_numbers_at_full_precision(comparison: Comparison) -> None:
    rows = list(csv.DictReader(io.StringIO(figure_csv(intervals(comparison, "dmax_visual")))))
    for row, candidate in zip(rows, comparison.candidates, strict=True):
        found = candidate.finding("dmax_visual")
        assert found is not None
        assert float(row["value"]) == found.value
        assert row["medium"] == candidate.name


def test_spreadsheet_formulas_are_disarmed(builder: Any) -> None:
    media = (replace(builder.MEDIA[0], name="=1+1"), *builder.MEDIA[1:])
    table = figure_csv(intervals(builder.build(media), "dmax_visual"))
    assert table.splitlines()[1].startswith("'=1+1,")


def test_hostile_names_stay_text(builder: Any) -> None:
    media = tuple(replace(m, name=f"{HOSTILE} {i}") for i, m in enumerate(builder.MEDIA[:3]))
    hostile = builder.build(media, house=f"{HOSTILE} 0")
    for figure in every_figure(hostile)[:6]:
        root = ET.fromstring(figure_svg(figure))
        assert all(not k.startswith("on") for e in root.iter() for k in e.attrib)


def test_twelve_media_all_differ_in_style(builder: Any) -> None:
    media = tuple(replace(builder.MEDIA[i % 5], name=f"Medium {i}") for i in range(12))
    styles = line_styles(builder.build(media, house=""))
    assert len({(s.dash, s.shape) for s in styles.values()}) == 12
    assert len({(s.dash, s.grey, s.weight) for s in styles.values()}) == 12


def test_house_medium_is_heaviest(comparison: Comparison) -> None:
    styles = line_styles(comparison)
    assert max(styles, key=lambda name: styles[name].weight) == comparison.house


def test_suspicious_patches_are_named(comparison: Comparison) -> None:
    figure = patch_map(comparison, NEW)
    assert "D8" in figure.caption
    assert "D8" in "".join(ET.fromstring(figure_svg(figure)).itertext())
    assert "No patch looks wrong" in patch_map(comparison, NEW, sheet="sheet 2").caption


def test_house_differences_are_seen_from_the_candidate(builder: Any) -> None:
    turned = builder.build((builder.MEDIA[1], builder.MEDIA[0]))
    straight = builder.build(builder.MEDIA[:2])
    rows = [
        list(csv.DictReader(io.StringIO(figure_csv(house_differences(c, NEW))))) for c in (straight, turned)
    ]
    for a, b in zip(*rows, strict=True):
        assert (a["candidate"], a["call"]) == (b["candidate"], b["call"]) or a["call"] == "cannot tell yet"
        assert float(a["difference"]) == pytest.approx(float(b["difference"]), nan_ok=True)


def test_many_pairs_are_cut_to_those_with_the_house(builder: Any) -> None:
    media = (builder.MEDIA[0], *(replace(builder.MEDIA[1 + i % 4], name=f"Medium {i}") for i in range(7)))
    figure = differences(builder.build(media), "dmax_visual")
    assert len(figure.csv.splitlines()) == 1 + 7
    assert "Only differences with Wren Rag 308" in figure.caption


@pytest.mark.parametrize(
    "make",
    [
        tone_curves,
        grey_balance,
        gamut_outlines,
        gamut_slices,
        white_and_brightener,
        lambda c: intervals(c, "dmax_visual"),
        lambda c: differences(c, "dmax_visual"),
        lambda c: house_differences(c, NEW),
        lambda c: patch_map(c, NEW),
        lambda c: gamut_3d(c, NEW),
    ],
)
def test_what_is_missing_is_refused_in_words(comparison: Comparison, make: Any) -> None:
    bare = tuple(replace(c, findings=(), tones=(), gamut=None, patch_maps=()) for c in comparison.candidates)
    empty = replace(comparison, candidates=bare, differences=(), by_finding=(), references={})
    with pytest.raises(NotEnoughData, match=r"\.$"):
        make(empty)
    assert every_figure(empty) == ()


def a_cube(half: float) -> GamutBody:
    corners = np.array(
        [(50 + half * x, half * y, half * z) for x in (-1, 1) for y in (-1, 1) for z in (-1, 1)]
    )
    quads = [(0, 1, 3, 2), (4, 5, 7, 6), (0, 1, 5, 4), (2, 3, 7, 6), (0, 2, 6, 4), (1, 3, 7, 5)]
    faces = np.array([t for a, b, c, d in quads for t in ((a, b, c), (a, c, d))])
    return GamutBody(corners.astype(float), faces, "surface", (2 * half) ** 3)


def test_outline_of_a_cube_is_its_square() -> None:
    # The shadow of a cube of half side 30 is a square: in direction h its edge is at 30 / max(|cos|, |sin|).
    ring = hue_outline(a_cube(30.0), hues=72)
    assert np.array_equal(ring[0], ring[-1])
    assert np.abs(ring).max(axis=1) == pytest.approx(np.full(73, 30.0))


@settings(deadline=None, max_examples=20)
@given(st.floats(0.1, 5.0))
def test_outline_grows_with_the_body(factor: float) -> None:
    small, large = hue_outline(a_cube(10.0)), hue_outline(a_cube(10.0 * factor))
    assert large == pytest.approx(small * factor)


@settings(deadline=None, max_examples=60)
@given(st.lists(st.floats(0, 100), max_size=12), st.floats(0.5, 8))
def test_dodged_labels_keep_their_distance_and_order(values: list[float], gap: float) -> None:
    placed = dodge(values, gap)
    ranked = sorted(range(len(values)), key=lambda i: values[i])
    steps = np.diff([placed[i] for i in ranked])
    assert np.all(steps >= gap - 1e-6)
    assert sum(placed) == pytest.approx(sum(values), abs=1e-6)


def test_bodies_for_the_page_are_plain_and_complete(comparison: Comparison) -> None:
    shown = gamut_3d(comparison, NEW, other="sRGB")
    json.dumps(shown, allow_nan=False)
    solid, net = shown["data"]
    body = comparison.candidate(NEW).gamut
    assert body is not None
    assert len(solid["x"]) == len(solid["vertexcolor"]) == len(body.vertices)
    assert max(*solid["i"], *solid["j"], *solid["k"]) < len(solid["x"])
    assert all(re.fullmatch("#[0-9a-f]{6}", c) for c in solid["vertexcolor"])
    assert net["x"][2::3] == [None] * (len(net["x"]) // 3)
    assert len(gamut_3d(comparison, NEW)["data"]) == 1
