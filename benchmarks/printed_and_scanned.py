"""Prints a page of marks, patches, words and waves, wears it, and scans it: all simulated, truth known."""

from __future__ import annotations

import io
from collections.abc import Callable
from dataclasses import dataclass
from functools import cache

import numpy as np
from numpy.typing import NDArray
from PIL import Image
from scipy.ndimage import gaussian_filter, map_coordinates

from laydown.kernel.arrays import Bools, Floats
from laydown.science.forms.drawing import draw_bands
from laydown.science.forms.identity import Identity, code_element
from laydown.science.forms.lettering import text_outlines
from laydown.science.forms.mark_grid import MARK_MM, mark_numbers, mark_places
from laydown.science.forms.markers import mark_element
from laydown.science.forms.page import MM_PER_INCH, Block, Box, Element, Page, Shape, Wave

SIZES_IN = {"8 x 10 in": (8, 10), "13 x 19 in": (13, 19), "17 x 22 in": (17, 22), "24 x 36 in": (24, 36)}
SOURCE_PPI = 300
BLURS = (0.6, 1.2, 2.2)  # pixels of the source: sharp paper to soft canvas and a tired scanner
COARSE = 48  # pixels of the scan between places whose origin is reckoned exactly
CURL_MM = 60.0  # how far a curled edge reaches into the page
TAPED = 0.3  # of the page's sides: the corner that was torn off and taped on again
RGB = ("R", "G", "B")


def form_page(size: str, *, form: str, page: int, says: str = "") -> Page:
    """A page of a form: its marks and code, and enough else that a search may go astray."""
    width, height = (side * MM_PER_INCH for side in SIZES_IN[size])
    places = mark_places(width, height)
    numbers = mark_numbers(form, [len(places)] * 3)[page]
    elements = [
        mark_element(number, left_mm=at.left_mm, top_mm=at.top_mm, size_mm=MARK_MM.value, dark=(0, 0, 0))
        for number, at in zip(numbers, places, strict=True)
    ]
    rng = np.random.default_rng([len(form), page, *form.encode()])
    code = code_element(
        Identity(says or form, f"P{page}", "003").text, left_mm=40.0, top_mm=2.0, channels=RGB, cell_mm=0.8
    )
    elements.append(code)
    fields = [
        Box(left, top, left + 28.0, top + 28.0)
        for top in np.arange(24.0, height - 50.0, 34.0)
        for left in np.arange(24.0, width - 50.0, 34.0)
    ]
    for number, field in enumerate(fields):
        if not any(_touch(field, at) for at in (*places, code.box)):
            elements.append(_filled(field, number, rng))
    return Page(f"{form} {page}", width, height, RGB, tuple(elements))


def _filled(field: Box, number: int, rng: np.random.Generator) -> Element:
    match int(rng.integers(0, 4)):
        case 0 | 1:
            paints = tuple(
                Block(
                    Box(left, top, left + 6.5, top + 6.5),
                    tuple(float(one) for one in np.round(rng.uniform(size=3) ** 0.7, 2)),
                )
                for top in np.arange(field.top_mm, field.bottom_mm - 6.9, 7.0)
                for left in np.arange(field.left_mm, field.right_mm - 6.9, 7.0)
            )
        case 2:
            wave = Wave(field, (0.05,) * 3, (0.95,) * 3, coarse=0.1, fine=3.0, faintest=0.1)
            paints = (wave,)
        case _:
            lines = [
                Shape(text_outlines(words, left_mm=field.left_mm, baseline_mm=down, size_pt=9.0), (0, 0, 0))
                for words, down in (("Sheet 17 of", field.top_mm + 6), ("form, upright", field.top_mm + 12))
            ]
            paints = (
                *lines,
                Block(Box(field.left_mm, field.top_mm + 15, field.right_mm, field.bottom_mm), (0,) * 3),
            )
    return Element("field", str(number), field, paints)


def _touch(one: Box, other: Box) -> bool:
    apart = one.right_mm <= other.left_mm or other.right_mm <= one.left_mm
    return not (apart or one.bottom_mm <= other.top_mm or other.bottom_mm <= one.top_mm)


@cache
def source(size: str, *, form: str, page: int, blur: float, says: str = "") -> NDArray[np.uint8]:
    """The page as printed without fault, blurred, 300 ppi, one channel."""
    drawn = draw_bands(form_page(size, form=form, page=page, says=says), ppi=SOURCE_PPI)
    bands = [band.mean(axis=2) for band in drawn]
    return gaussian_filter(np.concatenate(bands).astype(np.float32), blur).round().astype(np.uint8)


@dataclass(frozen=True, slots=True)
class Wear:
    """What happened to a print on its way into the scan.

    Lengths in mm, ``shrink`` as a share across and along, ``black`` and ``white`` in 8-bit levels; ``cast``
    is how the channels of a colour scan differ, None for a grey one. ``curl`` lifts the last edge, ``taped``
    moves the last corner.
    """

    turn_deg: float
    shrink: tuple[float, float]
    sway_mm: tuple[float, float]
    sway_phase: tuple[float, float]
    slip_mm: float
    slant: tuple[float, float]
    blur: float
    noise: float
    texture: float
    black: float
    white: float
    gamma: float
    uneven: tuple[float, float]
    jpeg: int | None
    shown: tuple[float, float, float, float]
    torn: float
    torn_corner: int
    covered: float
    lid: float
    cast: tuple[float, float, float] | None = None
    curl_mm: float = 0.0
    taped_mm: tuple[float, float] = (0.0, 0.0)


@dataclass(frozen=True, slots=True)
class Severity:
    """How badly things may go; chances are of one scan each."""

    name: str
    any_way_round: float
    most_shrink: float
    sway: float
    slip_mm: float
    slant: float
    blurs: tuple[float, ...]
    most_noise: float
    textured: float
    most_black: float
    least_white: float
    coloured: float
    jpeg: tuple[float, int, int]
    part: float
    torn: float
    covered: float
    curled: float
    taped: float


#: Sway is a share of the page's height (standard deviation), slant how often a page is seen from one.
SEVERITIES = (
    Severity(
        name="careful",
        any_way_round=0.2,
        most_shrink=0.004,
        sway=1e-4,
        slip_mm=0.005,
        slant=0.0,
        blurs=BLURS[:2],
        most_noise=3.0,
        textured=0.0,
        most_black=40.0,
        least_white=220.0,
        coloured=0.0,
        jpeg=(0.3, 85, 96),
        part=0.0,
        torn=0.0,
        covered=0.0,
        curled=0.0,
        taped=0.0,
    ),
    Severity(
        name="usual",
        any_way_round=0.5,
        most_shrink=0.007,
        sway=2e-4,
        slip_mm=0.01,
        slant=0.2,
        blurs=BLURS,
        most_noise=6.0,
        textured=0.3,
        most_black=70.0,
        least_white=190.0,
        coloured=0.25,
        jpeg=(0.5, 60, 96),
        part=0.1,
        torn=0.1,
        covered=0.05,
        curled=0.0,
        taped=0.0,
    ),
    Severity(
        name="rough",
        any_way_round=0.7,
        most_shrink=0.010,
        sway=3e-4,
        slip_mm=0.02,
        slant=0.3,
        blurs=BLURS,
        most_noise=9.0,
        textured=0.5,
        most_black=90.0,
        least_white=160.0,
        coloured=0.3,
        jpeg=(0.7, 10, 80),
        part=0.3,
        torn=0.3,
        covered=0.2,
        curled=0.15,
        taped=0.15,
    ),
)


def some_wear(
    rng: np.random.Generator, severity: Severity = SEVERITIES[1], *, height_mm: float = 254.0
) -> Wear:
    """Anything a studio may put on a scanner, from a careful scan to a torn, faded, crooked one."""

    def happens(chance: float) -> bool:
        return bool(rng.random() < chance)

    def pair(values: Floats) -> tuple[float, float]:
        return float(values[0]), float(values[1])

    part = happens(severity.part)
    first, last = (rng.uniform(0, 0.4, 2), rng.uniform(0.6, 1, 2)) if part else (np.zeros(2), np.ones(2))
    often, least_quality, most_quality = severity.jpeg
    cast = rng.uniform(-0.3, 0.3, 3)
    taped = rng.uniform(0.05, 3.0) * _unit(rng)
    return Wear(
        turn_deg=float(
            rng.uniform(-180.0, 180.0) if happens(severity.any_way_round) else rng.normal(0.0, 1.5)
        ),
        shrink=(float(rng.uniform(-0.001, 0.002)), float(rng.uniform(-0.001, severity.most_shrink))),
        sway_mm=pair(rng.normal(0.0, severity.sway * height_mm, 2)),
        sway_phase=pair(rng.uniform(0.0, 2.0 * np.pi, 2)),
        slip_mm=float(abs(rng.normal(0.0, severity.slip_mm))),
        slant=pair(rng.normal(0.0, 1e-5, 2) * happens(severity.slant)),
        blur=float(rng.choice(severity.blurs)),
        noise=float(rng.uniform(1.0, severity.most_noise)),
        texture=float(rng.uniform(0.0, 6.0) * happens(severity.textured)),
        black=float(rng.uniform(10.0, severity.most_black)),
        white=float(rng.uniform(severity.least_white, 250.0)),
        gamma=float(np.exp(rng.normal(0.0, 0.25))),
        uneven=pair(rng.uniform(-0.15, 0.15, 2)),
        jpeg=int(rng.integers(least_quality, most_quality)) if happens(often) else None,
        shown=(*pair(first), *pair(last)),
        torn=float(rng.uniform(0.05, 1.0) * happens(severity.torn)),
        torn_corner=int(rng.integers(0, 4)),
        covered=float(rng.uniform(10.0, 40.0) * happens(severity.covered)),
        lid=float(rng.choice([15.0, 128.0, 250.0])),
        cast=(*pair(cast), float(cast[2])) if happens(severity.coloured) else None,
        curl_mm=float(rng.uniform(0.1, 4.0) * happens(severity.curled)),
        taped_mm=pair(taped * happens(severity.taped)),
    )


def _unit(rng: np.random.Generator) -> Floats:
    angle = rng.uniform(0.0, 2.0 * np.pi)
    return np.array([np.cos(angle), np.sin(angle)])


Through = Callable[[Floats], Floats]


@dataclass(frozen=True, slots=True, eq=False)
class Scanned:
    """A scan, where places of the page truly lie in it, and which of these it shows."""

    picture: NDArray[np.uint8]
    ppi: float
    to_pixels: Through
    shows: Callable[[Floats], Bools]


def scan(
    printed: NDArray[np.uint8], wear: Wear, *, ppi: float, rng: np.random.Generator, mirrored: bool = False
) -> Scanned:
    """Scan a print with the wear it has."""
    height, width = (side / SOURCE_PPI * MM_PER_INCH for side in printed.shape)
    per_mm = ppi / MM_PER_INCH
    turn = np.radians(wear.turn_deg)
    linear = np.array([[np.cos(turn), -np.sin(turn)], [np.sin(turn), np.cos(turn)]])
    linear = linear @ np.diag([1.0 - wear.shrink[0], 1.0 - wear.shrink[1]])

    def through(points: Floats) -> Floats:
        x, y = points.T
        sway = np.column_stack(
            [
                wear.sway_mm[0] * np.sin(3.0 * y / height + wear.sway_phase[0]),
                wear.sway_mm[1] * np.sin(3.0 * x / width + wear.sway_phase[1])
                + wear.slip_mm * np.sin(2.0 * np.pi * y / 110.0),
            ]
        )
        left = np.clip(1.0 - (height - y) / CURL_MM, 0.0, 2.0)
        sway[:, 1] -= wear.curl_mm * left**2
        sway += np.where((x / width + y / height > 2.0 - TAPED)[:, None], wear.taped_mm, 0.0)
        at = (points + sway) @ linear.T
        return at / (1.0 + at @ np.array(wear.slant))[:, None]

    left, top, right, bottom = np.array(wear.shown) * (width, height, width, height)
    corners = through(np.array([(left, top), (right, top), (right, bottom), (left, bottom)]))
    margin = 0.0 if wear.shown != (0.0, 0.0, 1.0, 1.0) else 8.0
    least = corners.min(axis=0) - margin
    columns, rows = np.ceil((np.ptp(corners, axis=0) + 2.0 * margin) * per_mm).astype(int)

    def to_pixels(points: Floats) -> Floats:
        return (through(np.atleast_2d(points)) - least) * per_mm

    torn = _torn(wear, width, height)

    def shows(points: Floats) -> Bools:
        at = to_pixels(points)
        inside = (at >= 0.0).all(axis=1) & (at[:, 0] <= columns) & (at[:, 1] <= rows)
        return inside & ~torn(points[:, 0], points[:, 1])

    origins = _origins(to_pixels, rows, columns, start=(least, linear, per_mm))
    picture = _coloured(_exposed(printed, origins, rows, columns, wear=wear, torn=torn, rng=rng), wear)
    if mirrored:
        picture = np.ascontiguousarray(picture[:, ::-1])
    return Scanned(_as_jpeg(picture, wear.jpeg), ppi, to_pixels, shows)


def _coloured(picture: NDArray[np.uint8], wear: Wear) -> NDArray[np.uint8]:
    """The same in three channels, of which some have hardly any contrast: dark inks that are not black."""
    if wear.cast is None:
        return picture
    levels = np.arange(256.0)
    middle = (wear.black + wear.white) / 2.0
    tones = [
        np.clip(middle + (levels - middle) * (0.7 + cast) + 60.0 * cast, 0.0, 255.0) for cast in wear.cast
    ]
    return np.stack([tone.astype(np.uint8)[picture] for tone in tones], axis=2)


def _torn(wear: Wear, width: float, height: float) -> Callable[[Floats, Floats], Bools]:
    """Where the page is missing: a torn corner, and a strip that something lies on."""

    def torn(x: Floats, y: Floats) -> Bools:
        across = x if wear.torn_corner in (0, 3) else width - x
        down = y if wear.torn_corner in (0, 1) else height - y
        gone = across / width + down / height < wear.torn
        return gone | (np.abs(x - 0.37 * width) < wear.covered / 2.0)

    return torn


def _origins(to_pixels: Through, rows: int, columns: int, *, start: tuple[Floats, Floats, float]) -> Floats:
    """Which place of the page each coarse place of the scan shows, (rows, columns, 2) in mm."""
    least, linear, per_mm = start
    down, across = np.meshgrid(
        np.arange(0, rows + 2 * COARSE, COARSE), np.arange(0, columns + 2 * COARSE, COARSE), indexing="ij"
    )
    wanted = np.column_stack([across.ravel(), down.ravel()]).astype(np.float64)
    back = np.linalg.inv(linear).T
    found = (wanted / per_mm + least) @ back
    for _ in range(25):
        found = found - (to_pixels(found) - wanted) / per_mm @ back
    return found.reshape(*down.shape, 2)


def _exposed(
    printed: NDArray[np.uint8],
    origins: Floats,
    rows: int,
    columns: int,
    *,
    wear: Wear,
    torn: Callable[[Floats, Floats], Bools],
    rng: np.random.Generator,
) -> NDArray[np.uint8]:
    picture = np.empty((rows, columns), dtype=np.uint8)
    tone = (np.arange(256) / 255.0) ** wear.gamma * (wear.white - wear.black) + wear.black
    printed = tone.round().astype(np.uint8)[printed]
    across = (np.arange(columns) + 0.5) / COARSE
    whole = across.astype(int)
    rest = (across - whole).astype(np.float32)
    scale = SOURCE_PPI / MM_PER_INCH
    marked = wear.torn > 0.0 or wear.covered > 0.0
    for first in range(0, rows, 256):
        last = min(first + 256, rows)
        down = (np.arange(first, last) + 0.5) / COARSE
        over = down.astype(int)
        between = (down - over)[:, None, None]
        lines = (origins[over] * (1.0 - between) + origins[over + 1] * between).astype(np.float32)
        places = lines[:, whole] * (1.0 - rest)[:, None] + lines[:, whole + 1] * rest[:, None]
        x, y = places[..., 0], places[..., 1]
        at = [y * scale - 0.5, x * scale - 0.5]
        light = map_coordinates(printed, at, order=1, output=np.float32, mode="constant", cval=0.0)
        beyond = (x < 0.0) | (y < 0.0) | (x > printed.shape[1] / scale) | (y > printed.shape[0] / scale)
        if marked:
            beyond |= torn(x, y)
        if wear.texture:
            light += wear.texture * np.sin(2.0 * np.pi * x / 0.9) * np.sin(2.0 * np.pi * y / 0.9)
        light[beyond] = wear.lid
        light *= 1.0 + wear.uneven[0] * (2.0 * across / across[-1] - 1.0).astype(np.float32)
        light *= (1.0 + wear.uneven[1] * (2.0 * np.arange(first, last) / rows - 1.0))[:, None].astype(
            np.float32
        )
        light += np.float32(wear.noise) * rng.standard_normal(light.shape, dtype=np.float32)
        picture[first:last] = np.clip(light, 0.0, 255.0, out=light)
    return picture


def _as_jpeg(picture: NDArray[np.uint8], quality: int | None) -> NDArray[np.uint8]:
    if quality is None:
        return picture
    file = io.BytesIO()
    Image.fromarray(picture).save(file, "JPEG", quality=quality)
    with Image.open(file) as read:
        return np.asarray(read)
