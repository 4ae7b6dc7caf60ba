"""Edge response against closed forms and two published pictures of edges."""

import numpy as np
import pytest
from PIL import Image
from scipy.stats import norm

from laydown.kernel.errors import BadSetting
from laydown.science.forms.coverage import Sides
from laydown.science.scans.slanted_edge import EdgeResponse, edge_response

# The frequency (cycles per pixel) at which exp(-2 (pi sigma f)^2) sinc(f) is a half: a Gaussian and a pixel
# of width 1. Found by bisection, 5 digits.
GAUSSIAN_WITH_PIXEL = {1.0: 0.17996, 1.5: 0.12267, 2.0: 0.09273, 3.0: 0.06218}
BOX = 0.6033545645  # sinc(f) is a half; by bisection
WITHIN = 0.01  # what a plain implementation of the steps of ISO 12233 reaches without noise (computed)


def blurred_edge(sigma, degrees, *, size=(120, 90), dark=0.1, light=0.9, shift=0.37):
    """A straight edge blurred by a Gaussian and averaged over square pixels, exactly.

    The average over a pixel is the second integral of the normal distribution along the normal of the edge,
    differenced over the pixel's two sides.
    """
    turn = np.radians(degrees)
    a, b = np.cos(turn), np.sin(turn)
    rows, columns = np.mgrid[0 : size[0], 0 : size[1]]
    x = columns - (size[1] - 1) / 2.0 + shift
    y = rows - (size[0] - 1) / 2.0

    def twice(at):
        z = at / sigma
        return sigma**2 * ((z**2 + 1.0) * norm.cdf(z) + z * norm.pdf(z)) / 2.0

    at = a * x + b * y
    share = (
        twice(at + (a + b) / 2) - twice(at + (a - b) / 2) - twice(at - (a - b) / 2) + twice(at - (a + b) / 2)
    )
    return dark + (light - dark) * share / (a * b)


def with_margins(sigma, degrees, *, times):
    """An edge with margins so many times as wide as its standard deviation."""
    half = times * sigma + 80 * np.tan(np.radians(abs(degrees)))
    return blurred_edge(sigma, degrees, size=(160, 2 * int(np.ceil(half)) + 2))


@pytest.mark.parametrize("sigma", sorted(GAUSSIAN_WITH_PIXEL))
@pytest.mark.parametrize("degrees", [2.0, 3.5, 5.0, 7.3, 10.0, -5.0])
def test_a_gaussian_with_a_pixel_loses_half_where_its_closed_form_does(sigma, degrees):
    found = edge_response(with_margins(sigma, degrees, times=20.0))
    assert found.mtf50 == pytest.approx(GAUSSIAN_WITH_PIXEL[sigma], rel=WITHIN)
    assert found.angle_deg == pytest.approx(abs(degrees), abs=0.02)


@pytest.mark.parametrize("times", [10.0, 12.0, 16.0, 24.0])
def test_the_window_of_the_method_flatters_narrow_margins_as_derived(times):
    # Near its middle the Hamming window is 1 - 0.23 (pi x / margin)^2, which narrows a Gaussian as if
    # 1 / sigma^2 had grown by 0.46 (pi / margin)^2: the half moves up by 0.23 (pi sigma / margin)^2.
    found = edge_response(with_margins(3.0, 5.0, times=times)).mtf50 / GAUSSIAN_WITH_PIXEL[3.0] - 1.0
    assert found == pytest.approx(0.23 * (np.pi / times) ** 2, abs=0.003)


@pytest.mark.parametrize("sigma", [1.0, 2.0])
def test_the_whole_curve_is_that_of_the_closed_form(sigma):
    found = edge_response(blurred_edge(sigma, 5.0, size=(160, 120)))
    f = found.frequencies[found.frequencies < 0.3]
    wanted = np.exp(-2.0 * (np.pi * sigma * f) ** 2) * np.sinc(f)
    np.testing.assert_allclose(found.response[: len(f)], wanted, atol=0.01)
    assert found.response[0] == 1.0
    assert found.at(0.1) == pytest.approx(float(np.interp(0.1, f, wanted)), abs=0.01)


@pytest.mark.parametrize("degrees", [3.0, 5.0, 8.0])
def test_an_edge_as_a_form_draws_it_is_as_sharp_as_its_pixels(degrees):
    # Drawn with the share of each pixel that it covers, an edge has the response of the pixel alone; bins of
    # a quarter pixel take sinc(f / 4) off, which the method leaves in: 0.9631 at the half.
    turn = np.radians(degrees)
    along = np.array([-np.sin(turn), np.cos(turn)]) * 300.0
    foot = np.array([40.3, 60.0])
    far = np.array([400.0, 0.0])
    outline = np.array([foot + along, foot - along, foot - along + far, foot + along + far])
    picture = Sides.of([outline]).coverage(columns=(0, 80), rows=(0, 120))
    found = edge_response(picture)
    f = np.linspace(0.01, 0.9, 2000)
    wanted = f[np.flatnonzero(np.sinc(f) * np.sinc(f / 4.0) < 0.5)[0]]
    assert found.mtf50 == pytest.approx(wanted, rel=0.015)
    assert found.mtf50 == pytest.approx(BOX, rel=0.06)


@pytest.mark.parametrize("change", ["turned", "upside down", "mirrored", "negative", "brighter"])
def test_how_the_edge_lies_does_not_matter(change):
    picture = blurred_edge(1.5, 6.0)
    changed = {
        "turned": picture.T,
        "upside down": picture[::-1],
        "mirrored": picture[:, ::-1],
        "negative": 1.0 - picture,
        "brighter": 200.0 * picture + 17.0,
    }[change]
    one, other = edge_response(picture), edge_response(changed)
    assert other.mtf50 == pytest.approx(one.mtf50, rel=0.003)
    assert other.angle_deg == pytest.approx(one.angle_deg, abs=1e-6)


def test_noise_as_of_a_good_scan_moves_it_by_a_few_per_cent():
    rng = np.random.default_rng(11)
    clean = blurred_edge(2.0, 5.0, size=(240, 100))
    found = [edge_response(clean + rng.normal(0.0, 0.01, clean.shape)).mtf50 for _ in range(20)]
    assert np.mean(found) == pytest.approx(GAUSSIAN_WITH_PIXEL[2.0], rel=0.03)
    assert np.std(found) < 0.03 * GAUSSIAN_WITH_PIXEL[2.0]


@pytest.mark.shared_data
@pytest.mark.parametrize(
    ("name", "least", "most", "degrees"),
    [
        # Example pictures published under the BSD licence that lies beside them, with the angle and the half
        # of the contrast their author gives: two values for the first, the luminance of the second. How wide
        # the window was is not known, hence 2.5 in 100 (chosen here).
        ("v_edge.tif", 0.197, 0.203, 5.38),
        ("Test_edge1.tif", 0.279, 0.279, 5.48),
    ],
)
def test_published_pictures_give_their_published_results(shared_data, name, least, most, degrees):
    if not (shared_data / "edges" / name).exists():
        pytest.skip(f"the picture {name} is not kept beside this checkout")
    with Image.open(shared_data / "edges" / name) as picture:
        found = edge_response(np.asarray(picture, dtype=np.float64) @ (0.213, 0.715, 0.072))
    assert 0.975 * least <= found.mtf50 <= 1.025 * most
    assert found.angle_deg == pytest.approx(degrees, abs=0.05)


def test_no_half_where_contrast_never_falls_to_it():
    curve = EdgeResponse(np.linspace(0, 1, 5), np.linspace(1.0, 0.6, 5), 5.0, None)
    assert curve.mtf50 is None
    sharp = (np.add.outer(np.zeros(120), np.arange(60)) + np.arange(120)[:, None] * 0.0875 > 35).astype(float)
    found = edge_response(sharp)  # a step without any grey pixel: sharper than a pixel can be
    assert found.mtf50 is None or found.mtf50 > 0.6


@pytest.mark.parametrize(
    ("picture", "words"),
    [
        (np.zeros((5, 5)), "needs at least"),
        (np.zeros((40, 40, 3)), "needs at least"),
        (np.full((60, 60), 0.5), "no edge"),
        (np.where(np.arange(60) < 30, 0.1, 0.9) * np.ones((60, 1)), "too nearly along the pixels"),
        (np.full((60, 60), np.nan), "without a value"),
        (np.random.default_rng(0).uniform(size=(60, 60)), "edge"),
    ],
)
def test_what_is_no_slanted_edge_is_refused(picture, words):
    with pytest.raises(BadSetting, match=words):
        edge_response(picture)


def test_an_edge_at_the_border_of_the_region_is_refused():
    with pytest.raises(BadSetting, match=r"too near the border|cannot be followed"):
        edge_response(blurred_edge(1.0, 4.0, size=(60, 40), shift=19.0))
