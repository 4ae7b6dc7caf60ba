"""Pages found in simulated scans, however they lie; what is not the page is refused in words."""

from dataclasses import replace

import numpy as np
import pytest
from simulated_scans import SMALL_MM, a_scan, benchmark, printing, squares

from laydown.kernel.errors import BadSetting, NotEnoughData
from laydown.science.forms.length_error import BENT_CAUTION, SCANNER_CAUTION, SLANT_CAUTION, length_error
from laydown.science.forms.locating import locate, marks_of
from laydown.science.forms.mark_grid import (
    FEWEST_WANTED,
    MARK_MM,
    mark_numbers,
    mark_places,
    whole_mark_mm,
)
from laydown.science.forms.markers import mark_element, marks_there_are
from laydown.science.forms.page import Box, Element, Page
from laydown.science.forms.page_maps import Way
from laydown.science.forms.placing import NotPlaced, Placement, place_page


def worst_mm(found, scanned):
    x, y = np.meshgrid(np.linspace(8, SMALL_MM[0] - 8, 11), np.linspace(8, SMALL_MM[1] - 8, 13))
    points = np.column_stack([x.ravel(), y.ravel()])
    points = points[scanned.shows(points)]
    away = np.linalg.norm(found.to_pixels(points) - scanned.to_pixels(points), axis=1)
    return away.max() / scanned.ppi * 25.4


def small_case(severity, kind, number):
    """A case of the benchmark with its smallest page, coarsely scanned, so that it is quick."""
    rng = np.random.default_rng([20260131, number])
    return benchmark.case(severity, "8 x 10 in", 150.0, rng, kind=kind)


@pytest.mark.parametrize("severity", printing.SEVERITIES, ids=[one.name for one in printing.SEVERITIES])
def test_scans_of_the_page_are_placed_where_they_are_or_it_is_said(severity):
    outcomes = [small_case(severity, "the page", number) for number in range(4)]
    assert benchmark.wrong(outcomes) == []
    if severity.name == "careful":
        assert all(one.placed and one.worst_mm <= 0.05 and one.sure > 0.99 for one in outcomes)
    assert any(one.placed and one.sure > 0.0 for one in outcomes)


@pytest.mark.parametrize("kind", benchmark.OTHERS)
def test_scans_of_anything_else_are_refused(kind):
    outcome = small_case(printing.SEVERITIES[1], kind, 5)
    assert not outcome.placed
    assert outcome.reason


@pytest.mark.parametrize("turn", [0.0, 90.0, 180.0, -37.0])
def test_any_rotation_is_followed(turn):
    scanned = a_scan(turn_deg=turn)
    found = locate(scanned.picture, squares())
    assert isinstance(found, Placement)
    assert worst_mm(found, scanned) < 0.1
    assert found.pixels_per_mm * 25.4 == pytest.approx(150.0, rel=0.01)


@pytest.mark.parametrize("ppi", [150.0, 300.0])
@pytest.mark.parametrize("told", [True, False])
def test_the_resolution_may_be_told_or_found(ppi, told):
    scanned = a_scan(ppi=ppi)
    found = locate(scanned.picture, squares(), ppi=ppi if told else None)
    assert isinstance(found, Placement)
    assert worst_mm(found, scanned) < 0.1


class InAFile:
    """A scan that lies in a file: windows of it are read, never the whole, and at 2400 ppi."""

    def __init__(self, picture, times):
        self.picture, self.times = picture, times
        self.shape = tuple(side * times for side in picture.shape)
        self.dtype = picture.dtype
        self.most = 0

    def __getitem__(self, window):
        rows, columns = window
        self.most = max(self.most, (rows.stop - rows.start) * (columns.stop - columns.start))
        lines = self.picture[np.arange(rows.start, rows.stop) // self.times]
        first = columns.start // self.times
        wide = np.repeat(lines[:, first : -(-columns.stop // self.times)], self.times, axis=1)
        return wide[:, columns.start - first * self.times :][:, : columns.stop - columns.start]


def test_a_scan_larger_than_memory_is_read_window_by_window():
    scanned = a_scan(ppi=300.0)
    large = InAFile(scanned.picture, 8)  # 2400 ppi: 19 200 x 24 000 pixels and more
    found = locate(large, squares())
    assert isinstance(found, Placement)
    points = np.array([(20.0, 20.0), (180.0, 30.0), (100.0, 125.0), (30.0, 240.0)])
    away = found.to_pixels(points) / 8 - scanned.to_pixels(points)
    assert np.linalg.norm(away, axis=1).max() / 300 * 25.4 < 0.1
    assert large.most <= 5_000_000 < large.shape[0] * large.shape[1]


@pytest.mark.parametrize("kind", ["16 bits", "floats", "colour"])
def test_scans_of_any_depth_are_read(kind):
    scanned = a_scan()
    picture = {
        "16 bits": scanned.picture.astype(np.uint16) * 257,
        "floats": (scanned.picture / 255.0).astype(np.float32),
        "colour": np.stack([scanned.picture] * 3, axis=2),
    }[kind]
    found = locate(picture, squares())
    assert isinstance(found, Placement)
    assert worst_mm(found, scanned) < 0.1


def test_a_dim_scan_of_a_faded_print_is_read():
    scanned = a_scan(black=60.0, white=110.0, noise=2.0)
    found = locate(scanned.picture, squares())
    assert isinstance(found, Placement)
    assert worst_mm(found, scanned) < 0.1


def test_where_a_part_is_missing_only_the_rest_is_sure():
    scanned = a_scan(shown=(0.0, 0.0, 1.0, 0.72), noise=1.0, sway_mm=(0.0, 0.0))
    found = locate(scanned.picture, squares())
    assert isinstance(found, Placement)
    assert found.sure_of(Box(80.0, 80.0, 110.0, 110.0))
    assert not found.sure_of(Box(180.0, 240.0, 190.0, 250.0), within_mm=0.05)
    assert worst_mm(found, scanned) < 0.1


def test_a_mirrored_scan_is_said_to_be_mirrored():
    refused = locate(a_scan(mirrored=True).picture, squares())
    assert isinstance(refused, NotPlaced)
    assert "mirror" in refused.reason


def test_another_page_is_said_to_be_another():
    refused = locate(a_scan(page=2).picture, squares())
    assert isinstance(refused, NotPlaced)
    assert "only 0 of them are of this page" in refused.reason
    assert "another page" in refused.reason


def test_a_blank_scan_is_said_to_have_no_marks():
    for blank in (np.full((1500, 1200), 240, np.uint8), np.zeros((1500, 1200), np.uint8)):
        refused = locate(blank, squares())
        assert isinstance(refused, NotPlaced)
        assert "no mark was found" in refused.reason
        assert "150 ppi" in refused.todo
    noise = np.random.default_rng(0).integers(0, 256, (1500, 1200)).astype(np.uint8)
    assert isinstance(locate(noise, squares()), NotPlaced)


def test_what_is_no_scan_is_refused():
    with pytest.raises(BadSetting):
        locate(np.zeros(10, np.uint8), squares())
    with pytest.raises(BadSetting, match="int64"):
        locate(np.zeros((1500, 1200), np.int64), squares())
    mark = mark_element(1, left_mm=5, top_mm=5, size_mm=10, dark=(0, 0, 0))
    damaged = Element("mark", "mark 1", mark.box, mark.paints, {"number": 1, "square_mm": (1.0, 2.0)})
    with pytest.raises(BadSetting, match="square of a mark"):
        marks_of(Page("damaged", 100, 100, ("R", "G", "B"), (damaged,)))


def test_the_length_error_is_the_one_it_was_printed_with():
    scanned = a_scan(shrink=(-0.002, 0.0065), sway_mm=(0.0, 0.0))
    found = length_error(locate(scanned.picture, squares()), scan_ppi=150.0)
    # to 0.02 %: a twentieth of a mm over the page
    assert found.across == pytest.approx(0.2, abs=0.02)
    assert found.along == pytest.approx(-0.65, abs=0.02)
    assert found.across_low < 0.2 < found.across_high
    assert found.along_low < -0.65 < found.along_high
    assert found.n == 12
    assert found.cautions == (SCANNER_CAUTION,)
    turned = length_error(locate(scanned.picture, squares()), scan_ppi=150.0, feed="across")
    assert (turned.along, turned.across) == (found.across, found.along)


@pytest.mark.parametrize(("across", "along"), [(0.0, 0.01), (0.01, 0.001), (-0.003, 0.008)])
def test_the_interval_of_a_length_holds_what_canvas_shrinks_by(across, along):
    # Canvas shrinks by up to 1 %, mostly one way; sway of 0.1 mm bends the page as well.
    scanned = a_scan(shrink=(across, along), sway_mm=(0.1, 0.1), turn_deg=-37.0)
    found = length_error(locate(scanned.picture, squares()), scan_ppi=150.0)
    true = benchmark.true_lengths(scanned, Box(0.0, 0.0, *SMALL_MM))
    assert found.across_low < true[0] < found.across_high
    assert found.along_low < true[1] < found.along_high
    assert true[1] == pytest.approx(-100.0 * along, abs=0.15)  # what the sway adds
    # a tenth of what is looked for, so that the interval says something
    assert found.along_high - found.along_low < 0.2
    assert found.across_high - found.across_low < 0.2


def test_a_page_turned_in_the_scan_keeps_its_own_directions():
    scanned = a_scan(shrink=(0.0, 0.006), turn_deg=90.0, sway_mm=(0.0, 0.0))
    found = length_error(locate(scanned.picture, squares()), scan_ppi=150.0)
    assert found.across == pytest.approx(0.0, abs=0.02)
    assert found.along == pytest.approx(-0.6, abs=0.02)


def test_the_interval_of_a_length_holds_the_truth_as_often_as_it_says():
    # Marks off by independent normal noise: 95 in 100, within three standard errors of 300 draws.
    places = {n: box.inset(1.25) for n, box in enumerate(mark_places(609.6, 914.4))}
    held = 0
    for seed in range(300):
        rng = np.random.default_rng(seed)
        found = exact(places, scale=(1.0, 0.995), noise=0.4, rng=rng)
        told = length_error(found, scan_ppi=300.0)
        held += told.along_low <= -0.5 <= told.along_high
    assert held / 300 == pytest.approx(0.95, abs=3 * np.sqrt(0.95 * 0.05 / 300))


def exact(places, *, scale, noise, rng, slant=0.0):
    """A placement whose marks lie where they truly would, without a picture."""
    middles = np.array([box.middle_mm for box in places.values()])
    at = middles * scale * 300 / 25.4
    at = at / (1.0 + slant * middles[:, :1]) + rng.normal(0.0, noise, at.shape)
    plane = np.diag([scale[0] * 300 / 25.4, scale[1] * 300 / 25.4, 1.0])
    plane[2, 0] = slant
    return Placement(
        plane=plane,
        bend=np.zeros((0, 2)),
        way=Way(slant != 0.0, 0, np.zeros(2), 1.0),
        marks=tuple(places),
        left_out=(),
        error_mm=0.02,
        spread_mm=0.02,
        local_mm=0.01,
        pixels_per_mm=300 / 25.4,
        hull_mm=np.array([(0.0, 0.0), (609.6, 0.0), (609.6, 914.4), (0.0, 914.4)]),
        spacing_mm=150.0,
        middles_mm=middles,
        middles=at,
        drawn_hull_mm=np.array([(0.0, 0.0), (609.6, 0.0), (609.6, 914.4), (0.0, 914.4)]),
        contradicted_mm=np.zeros((0, 2)),
        missing_mm=np.zeros((0, 2)),
    )


def test_lengths_from_a_slant_or_from_few_marks_say_so():
    places = {n: box.inset(1.25) for n, box in enumerate(mark_places(609.6, 914.4))}
    slanted = length_error(
        exact(places, scale=(1, 1), noise=0.1, rng=np.random.default_rng(0), slant=2e-5), scan_ppi=300
    )
    assert SLANT_CAUTION in slanted.cautions
    flat = exact(places, scale=(1, 1), noise=0.1, rng=np.random.default_rng(0))
    assert length_error(flat, scan_ppi=300).cautions == (SCANNER_CAUTION,)
    for bent in (replace(flat, left_out=(3,)), replace(flat, spread_mm=0.08)):
        assert BENT_CAUTION in length_error(bent, scan_ppi=300).cautions
    few = {n: places[n] for n in (0, 4, 17, 30, 34)}
    with pytest.raises(NotEnoughData, match="5 marks were found; a length needs 6"):
        length_error(exact(few, scale=(1, 1), noise=0.1, rng=np.random.default_rng(0)), scan_ppi=300)


@pytest.mark.parametrize(
    ("size", "count"),
    [
        # 24 x 36 in: 587 mm across and 892 mm down between outer marks: 4 and 6 distances of about 150 mm
        ((609.6, 914.4), 5 * 7),
        ((330.2, 482.6), 3 * 4),
        (SMALL_MM, FEWEST_WANTED),
        ((1625.6, 2540.0), 12 * 18),
    ],
)
def test_a_page_carries_enough_marks_and_all_lie_on_it(size, count):
    places = mark_places(*size)
    assert len(places) == count
    page = Box(0.0, 0.0, *size)
    assert all(page.inset(4.999).holds(box) for box in places)
    corners = {(box.left_mm < 6.0, box.top_mm < 6.0) for box in places}
    assert corners == {(True, True), (True, False), (False, True), (False, False)}
    for number, one in enumerate(places):
        for other in places[number + 1 :]:
            assert max(abs(one.left_mm - other.left_mm), abs(one.top_mm - other.top_mm)) > 40.0


def test_a_mark_fills_the_place_it_is_given():
    (place, *_) = mark_places(*SMALL_MM)
    mark = mark_element(5, left_mm=place.left_mm, top_mm=place.top_mm, size_mm=MARK_MM.value, dark=(0, 0, 0))
    np.testing.assert_allclose(mark.box.corners(), place.corners(), atol=1e-9)
    assert whole_mark_mm(8.0) == pytest.approx(10.0)  # eight cells and a bare ring of one


def test_marks_keep_off_what_must_stay_free():
    picture = Box(200.0, 300.0, 420.0, 620.0)
    places = mark_places(609.6, 914.4, around=(picture,))
    assert 20 < len(places) < 35
    for box in places:
        apart = box.right_mm <= 200.0 or box.left_mm >= 420.0 or box.bottom_mm <= 300.0 or box.top_mm >= 620.0
        assert apart
    with pytest.raises(BadSetting, match="there is room for 0 marks"):
        mark_places(609.6, 914.4, around=(Box(0.0, 0.0, 609.6, 914.4),))


def test_a_page_without_room_for_marks_is_refused():
    with pytest.raises(BadSetting, match="no room in the corners"):
        mark_places(30.0, 40.0)


def test_a_very_long_page_does_not_run_out_of_marks():
    assert len(mark_places(1625.6, 30_000.0)) <= marks_there_are()


def test_numbers_are_unique_within_a_form_and_differ_between_forms():
    counts = (35, 12, 35)
    pages = mark_numbers("F7K2", counts)
    assert [len(page) for page in pages] == list(counts)
    every = [number for page in pages for number in page]
    assert len(set(every)) == sum(counts)
    assert pages == mark_numbers("F7K2", counts)
    # Two forms with marks in the same places: fewer than four coincide, so one is never placed as the other.
    forms = np.array([mark_numbers(f"F{number}", (35,))[0] for number in range(200)])
    same = (forms[:, None] == forms[None]).sum(axis=2)
    np.fill_diagonal(same, 0)
    assert same.max() < 4


def test_more_marks_than_there_are_are_refused():
    with pytest.raises(BadSetting, match="need 600 marks; there are 587"):
        mark_numbers("F7K2", (300, 300))


def test_the_error_it_expects_grows_away_from_the_marks_and_with_fewer_of_them():
    scanned = a_scan()
    found = locate(scanned.picture, squares())
    inside, edge, beyond = found.error_at(np.array([(100.0, 125.0), (5.0, 5.0), (400.0, 500.0)]))
    assert inside < edge < beyond
    corners = [one for one in squares() if one in found.marks][:4]
    few = place_page([one for one in all_found(scanned) if one.number in corners], squares())
    if isinstance(few, Placement):
        assert few.error_at(np.array([(100.0, 125.0)]))[0] > inside


def all_found(scanned):
    from laydown.science.forms.markers import find_marks

    return find_marks(scanned.picture)
