"""Pages found in scans, element by element; what is wrong with a scan is said in words, never passed over."""

import io
from dataclasses import replace

import numpy as np
import pytest
import tifffile
from simulated_scans import a_page, a_scan, located, sure_share, worst_sure_mm

from laydown.science.forms.geometry import from_json, page_geometry, to_json
from laydown.science.forms.identity import Identity
from laydown.science.forms.located_page import LocatedPage, locate_page
from laydown.science.forms.page import Page
from laydown.science.forms.placing import NotPlaced
from laydown.science.forms.scan_file import TiffScan


def test_every_element_has_its_region_and_the_code_is_read():
    scanned = a_scan(turn_deg=171.0)
    found = located(scanned)
    assert isinstance(found, LocatedPage)
    assert [one.name for one in found.regions] == [one.name for one in a_page().elements]
    assert sure_share(found) == 1.0
    assert worst_sure_mm(found, scanned) < 0.05
    assert found.identity == Identity("F7K2", "P1", "003")
    assert found.cautions == ()
    element = a_page().elements[20]
    wanted = scanned.to_pixels(element.box.corners())
    # clockwise from the element's own top left, however it lies: 0.1 mm are 0.6 pixels at 150 ppi
    np.testing.assert_allclose(found.regions[20].corners, wanted, atol=0.6)


def test_the_geometry_that_was_kept_serves_as_well_as_the_page():
    page = a_page()
    bare = Page(
        page.name, page.width_mm, page.height_mm, page.channels, page.of_kind("mark") + page.of_kind("code")
    )
    kept = from_json(to_json(page_geometry(bare, form="F7K2", ppi=300.0)))
    found = locate_page(a_scan().picture, kept)
    assert isinstance(found, LocatedPage)
    assert len(found.regions) == 13
    assert found.identity == Identity("F7K2", "P1", "003")


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"mirrored": True}, "as in a mirror"),
        ({"page": 2}, "another page"),
        ({"says": "OTHER"}, "its code says form OTHER, page P1, and not form F7K2, page P1"),
        ({"shown": (0.0, 0.0, 1.0, 0.1)}, "the least"),
        ({"shown": (0.2, 0.2, 0.4, 0.4)}, "no mark was found"),
    ],
    ids=["mirrored", "another page", "another form by its code", "two marks left", "no mark left"],
)
def test_what_cannot_be_placed_is_refused_in_words(changes, words):
    refused = located(a_scan(**changes))
    assert isinstance(refused, NotPlaced)
    assert words in refused.reason
    assert refused.todo.endswith(".")


def test_a_refusal_says_what_the_code_in_the_scan_says():
    refused = located(a_scan(page=2))
    assert isinstance(refused, NotPlaced)
    assert refused.reason.endswith("A code in it says form F7K2, page P2.")


def test_a_negative_is_said_to_be_one_and_so_is_a_mirrored_one():
    scanned = a_scan()
    refused = located(replace(scanned, picture=255 - scanned.picture))
    assert isinstance(refused, NotPlaced)
    assert refused.reason.startswith("light and dark are exchanged")
    refused = located(replace(scanned, picture=255 - scanned.picture[:, ::-1]))
    assert isinstance(refused, NotPlaced)
    assert "negative" in refused.reason
    assert "mirror" in refused.reason


def test_two_prints_of_the_page_in_one_scan_are_refused():
    scanned = a_scan()
    both = replace(scanned, picture=np.concatenate([scanned.picture] * 2, axis=1))
    refused = located(both)
    assert isinstance(refused, NotPlaced)
    assert "12 marks of this page are in the scan twice" in refused.reason
    assert "each print alone" in refused.todo


def test_another_page_beside_it_does_not_matter():
    scanned, other = a_scan(), a_scan(page=2).picture
    high = min(len(scanned.picture), len(other))
    both = replace(scanned, picture=np.concatenate([scanned.picture[:high], other[:high]], axis=1))
    found = located(both)
    assert isinstance(found, LocatedPage)
    assert sure_share(found) == 1.0
    assert worst_sure_mm(found, both) < 0.05


@pytest.mark.parametrize("corner", [0, 2])
def test_of_half_a_page_only_what_is_there_may_be_measured(corner):
    scanned = a_scan(torn=1.0, torn_corner=corner, sway_mm=(0.0, 0.0), slip_mm=0.0)
    found = located(scanned)
    assert isinstance(found, LocatedPage)
    page = a_page()
    shown = np.array([bool(scanned.shows(one.box.corners()).all()) for one in page.elements])
    sure = np.array([not one.doubt for one in found.regions])
    assert 0.1 < sure.mean() < 0.6
    assert not sure[~shown].any()
    assert worst_sure_mm(found, scanned) < 0.1
    assert any("marks were used" in one for one in found.cautions)
    assert any("not found" in one.doubt for one in found.regions)


def test_what_lies_beyond_the_scan_is_said_to():
    scanned = a_scan(shown=(0.0, 0.0, 1.0, 0.7))
    found = located(scanned)
    assert isinstance(found, LocatedPage)
    last = found.regions[-1]
    assert last.doubt == "it lies beyond the scan, or in part"


@pytest.mark.parametrize(
    "changes",
    [
        {"ppi": 72.0},
        {"ppi": 100.0},
        {"ppi": 130.0, "noise": 8.0},
        {"jpeg": 3},
        {"jpeg": 10, "ppi": 200.0},
        {"curl_mm": 0.3},
        {"curl_mm": 0.7},
        {"curl_mm": 3.0},
        {"taped_mm": (0.15, 0.1)},
        {"taped_mm": (0.6, -0.4)},
        {"taped_mm": (2.5, 1.0)},
        {"slant": (3e-5, -2e-5)},
        {"shrink": (0.0, 0.01), "sway_mm": (0.3, 0.3)},
        {"cast": (-0.6, -0.3, 0.3), "black": 90.0, "white": 170.0, "noise": 8.0},
        {"covered": 40.0},
        {"covered": 42.5},
        {"curl_mm": 0.5, "sway_mm": (0.0, 0.0)},
        {"shown": (0.0, 0.0, 0.5, 0.5)},
    ],
    ids=str,
)
def test_nothing_is_called_sure_that_is_not(changes):
    scanned = a_scan(**changes)
    found = located(scanned)
    assert worst_sure_mm(found, scanned) <= 0.1
    if isinstance(found, NotPlaced):
        assert found.reason.endswith(".")
        return
    for one in found.regions:
        assert one.doubt or one.error_mm <= 0.1
    if sure_share(found) < 1.0:
        assert any("elements are not placed well enough" in one for one in found.cautions)


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"curl_mm": 0.8}, "folded, torn, curled or covered"),
        ({"taped_mm": (6.0, 4.0)}, "folded, torn, curled or covered"),
        ({"taped_mm": (0.6, -0.4)}, "marks disagree"),
        ({"shown": (0.0, 0.0, 1.0, 0.45)}, "beyond the scan"),
    ],
    ids=str,
)
def test_a_doubt_says_why(changes, words):
    found = located(a_scan(**changes))
    assert isinstance(found, LocatedPage)
    assert any(words in one.doubt for one in found.regions)


def test_a_coarse_scan_is_said_to_be_coarse():
    refused = located(a_scan(ppi=25.0))
    assert isinstance(refused, NotPlaced)
    assert "too coarse: if it shows the whole page, it has about 2" in refused.reason
    assert "150 ppi or more" in refused.todo
    told = located(a_scan(ppi=25.0), ppi=25.0)
    assert isinstance(told, NotPlaced)
    assert "it has about 25 pixels per inch" in told.reason
    found = located(a_scan(ppi=110.0))
    assert isinstance(found, LocatedPage)
    assert any("110 pixels per inch, below 150" in one for one in found.cautions)


def test_a_code_that_cannot_be_read_is_a_caution():
    scanned = a_scan()
    hidden = scanned.picture.copy()
    (code,) = a_page().of_kind("code")
    left, top = scanned.to_pixels(code.box.corners()).min(axis=0).astype(int)
    right, bottom = scanned.to_pixels(code.box.corners()).max(axis=0).astype(int)
    hidden[top:bottom, left:right] = 240
    found = located(replace(scanned, picture=hidden))
    assert isinstance(found, LocatedPage)
    assert found.identity is None
    assert found.cautions == ("Its code could not be read: make sure that it is the sheet it is taken for.",)


@pytest.mark.parametrize("packing", [{}, {"compression": "zlib", "rowsperstrip": 64}, {"tile": (256, 256)}])
def test_a_scan_in_a_file_is_located_as_one_in_memory(packing):
    scanned = a_scan(ppi=200.0)
    file = io.BytesIO()
    tifffile.imwrite(file, scanned.picture, resolution=(200, 200), resolutionunit="inch", **packing)
    scan = TiffScan(file)
    found = locate_page(scan, a_page(), ppi=scan.ppi)
    in_memory = locate_page(scanned.picture, a_page(), ppi=200.0)
    assert isinstance(found, LocatedPage)
    assert isinstance(in_memory, LocatedPage)
    for one, other in zip(found.regions, in_memory.regions, strict=True):
        np.testing.assert_allclose(one.corners, other.corners)
