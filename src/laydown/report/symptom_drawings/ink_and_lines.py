"""Pictures of ink that does not behave, and of lines and bands."""

from __future__ import annotations

from laydown.report.symptom_drawings.strokes import (
    BLACK,
    DARK,
    DUSK,
    LIGHT,
    MIDDLE,
    PALE,
    WHITE,
    arrow,
    disc,
    grey,
    landscape,
    line,
    oval,
    path,
    rect,
    scattered,
    window,
)


def grey_dusty_black() -> str:
    """A black that is grey and dusty, dragged out by a finger."""
    dust = "".join(disc(56 * u, 52 * v, 0.7 + 0.8 * w, grey(0.66 + 0.2 * w)) for u, v, w in scattered(90))
    drag = "".join(
        path(f"M58 {26 + 4 * i}q14 {1.5 * i - 3} {20 + 5 * (i % 3)} {2 * i - 4}", grey(0.55 + 0.07 * i), 3.4)
        for i in range(5)
    )
    return rect(6, 10, 56, 52, grey(0.4)) + window(6, 10, 56, 52, dust) + drag


def ink_beads() -> str:
    """Beads of ink standing on a sheet seen from the side."""
    sheet = rect(4, 50, 88, 8, WHITE, stroke=DUSK, stroke_width=1.2)
    beads = ""
    for x, r in ((18, 9), (38, 6), (58, 12), (80, 8)):
        top = 50 - 1.5 * r
        dome = f"M{x - r} 50C{x - 1.3 * r} {top} {x + 1.3 * r} {top} {x + r} 50Z"
        beads += path(dome, "none", 0, BLACK) + oval(x - 0.3 * r, 50 - 0.72 * r, 0.22 * r, 0.13 * r, WHITE)
    return sheet + beads


def feathered_lines() -> str:
    """Fine lines that grow hairs and stand in a halo."""
    parts = []
    for y, weight in ((16, 2.4), (36, 3.2), (57, 4.2)):
        parts.append(rect(6, y - 6, 84, 12, PALE, rx=6))
        for u, v, w in scattered(44, start=y):
            side = 1 if w < 0.5 else -1
            reach = side * (2.5 + 4 * v)
            parts.append(
                path(f"M{8 + 80 * u:.1f} {y}q{3 * v:.1f} {side * 2} {4 * v - 1:.1f} {reach:.1f}", DARK, 0.9)
            )
        parts.append(line(8, y, 88, y, BLACK, weight))
    return "".join(parts)


def mottle() -> str:
    """A flat dark area that looks cloudy."""
    clouds = "".join(
        oval(88 * u, 60 * v, 4 + 7 * w, 3 + 5 * (1 - w), grey(0.46 if number % 2 else 0.2), opacity=0.55)
        for number, (u, v, w) in enumerate(scattered(46))
    )
    grain = "".join(disc(88 * u, 60 * v, 0.8, grey(0.62)) for u, v, _ in scattered(70, start=60))
    return rect(4, 6, 88, 60, grey(0.32)) + window(4, 6, 88, 60, clouds, grain)


def smear_at_one_place() -> str:
    """A dark dash near the edge of a picture."""
    smear = path("M58 17q14-3 30 0", BLACK, 5) + path("M62 21q12-1 24 1", BLACK, 2.4, opacity=0.6)
    tail = path("M54 19l-7 1M56 15l-5-1", DARK, 1.4)
    return landscape(6, 6, 84, 60, (PALE, PALE, LIGHT, MIDDLE)) + smear + tail


def fine_light_lines() -> str:
    """Thin white lines across the print, always as far apart, under the head's travel."""
    lines = "".join(
        line(6, 21 + 8.4 * i, 90, 21 + 8.4 * i, WHITE, 0.9, stroke_linecap="butt") for i in range(6)
    )
    head = rect(40, 4, 16, 7, BLACK)
    return rect(6, 14, 84, 52, grey(0.32)) + lines + head + arrow(36, 7.5, 16, 7.5) + arrow(60, 7.5, 80, 7.5)


def regular_bands() -> str:
    """Broad dark bands on one half, broad light bands on the other."""
    dark = "".join(rect(6, 9 + 15 * i, 41, 4.5, grey(0.22)) for i in range(4))
    light = "".join(rect(49, 9 + 15 * i, 41, 4.5, grey(0.86)) for i in range(4))
    return rect(6, 5, 41, 62, grey(0.55)) + rect(49, 5, 41, 62, grey(0.55)) + dark + light


def grain_double_edges() -> str:
    """Upright bars seen twice, over grain."""
    grain = "".join(disc(6 + 84 * u, 6 + 60 * v, 0.8, MIDDLE) for u, v, _ in scattered(130))
    ghost = "".join(rect(x + 5, 12, 8, 48, LIGHT) for x in (16, 42, 68))
    edge = "".join(rect(x + 11.4, 12, 1.8, 48, DUSK) for x in (16, 42, 68))
    return (
        rect(6, 6, 84, 60, WHITE)
        + grain
        + ghost
        + edge
        + "".join(rect(x, 12, 8, 48, BLACK) for x in (16, 42, 68))
    )


def fuzzy_edges() -> str:
    """A bar with one clean edge, and a spray of stray dots beside the other."""
    spray = ""
    for u, v, w in scattered(150):
        spray += disc(46 + 40 * u * u, 8 + 56 * v, 0.5 + 0.9 * w * (1 - u), BLACK)
    return rect(4, 4, 88, 64, WHITE) + rect(16, 8, 31, 56, BLACK) + spray


def solid_fades() -> str:
    """A long solid that starts dark and ends pale and streaked."""
    body = "".join(rect(18, 5 + 3.1 * i, 60, 3.2, grey(0.14 + 0.034 * i)) for i in range(20))
    streaks = "".join(
        line(18 + 60 * u, 30 + 16 * v, 18 + 60 * u, 67, grey(0.94), 0.8 + 1.4 * w, stroke_linecap="butt")
        for u, v, w in scattered(13)
    )
    return body + streaks + arrow(86, 12, 86, 60)
