"""Pictures of specks, marks and sheen on the surface."""

from __future__ import annotations

from laydown.report.symptom_drawings.strokes import (
    BLACK,
    DARK,
    DUSK,
    LIGHT,
    MIDDLE,
    PALE,
    WHITE,
    area,
    arrow,
    disc,
    grey,
    landscape,
    line,
    oval,
    path,
    rect,
    ring,
    scattered,
    turned,
    window,
)


def _loupe(x: float, y: float, radius: float, *inside: str, ground: str) -> str:
    """A loupe with what is seen in it, from its top left corner."""
    handle = line(x + 0.72 * radius, y + 0.72 * radius, x + 1.35 * radius, y + 1.35 * radius, BLACK, 4)
    return (
        handle
        + disc(x, y, radius, ground)
        + window(x - radius, y - radius, 2 * radius, 2 * radius, *inside)
        + ring(x, y, radius, BLACK, 2.4)
    )


def sharp_white_specks() -> str:
    """White specks with clean edges; the loupe shows the outline of a crumb."""
    specks = ""
    for u, v, w in scattered(13):
        x, y, size = 8 + 76 * u, 8 + 54 * v, 1.4 + 1.6 * w
        specks += area([(x, y - size), (x + size, y), (x + 0.2, y + size), (x - 0.8 * size, y + 0.3)], WHITE)
    crumb = area([(9, 11), (17, 7), (26, 12), (28, 20), (18, 26), (14, 21), (8, 20)], WHITE)
    return rect(4, 4, 88, 64, grey(0.26)) + specks + _loupe(56, 34, 17, crumb, ground=grey(0.26))


def white_craters() -> str:
    """Craters from above, and one cut open down to the base."""
    top = rect(4, 4, 88, 34, grey(0.26))
    for x, y, r in ((18, 15, 4), (40, 27, 6), (66, 13, 5), (82, 28, 3.4), (26, 31, 2.6)):
        top += disc(x, y, r, LIGHT, stroke=BLACK, stroke_width=1.4) + disc(
            x + 0.3 * r, y + 0.3 * r, 0.55 * r, WHITE
        )
    layers = rect(4, 59, 88, 9, WHITE) + rect(4, 51, 88, 8, MIDDLE) + rect(4, 46, 88, 5, BLACK)
    pit = area([(34, 45.5), (64, 45.5), (59, 59), (38, 59)], WHITE)
    edge = path("M4 46H34L38 59H59L64 46H92", DARK, 1)
    crumbs = area([(68, 42), (74, 39), (76, 44)], DARK) + area([(22, 43), (27, 39), (29, 44)], DARK)
    return top + layers + pit + edge + crumbs


def dark_hairs() -> str:
    """Hairs and fibres in a light picture."""
    hairs = path("M16 18q10-10 18 2t20-4", BLACK, 1.8) + path("M52 50q8-14 16-4t16-10", BLACK, 1.5)
    return (
        landscape(6, 6, 84, 60, (grey(0.93), WHITE, PALE, LIGHT))
        + hairs
        + path("M24 54q3-12 14-8q8 4 2 10", BLACK, 1.6)
        + path("M64 14q-3 7 5 9", BLACK, 1.3)
    )


def row_of_dots() -> str:
    """A row of tiny dots down a glossy print, under the wheel that made it."""
    gloss = area([(8, 66), (30, 6), (44, 6), (22, 66)], WHITE, opacity=0.28)
    dots = "".join(disc(62, 28 + 5.2 * i, 1.5, WHITE) for i in range(8))
    teeth = "".join(turned(45 * i, 62, 13, area([(60.6, 8), (63.4, 8), (62, 3)], BLACK)) for i in range(8))
    return (
        rect(6, 6, 84, 60, grey(0.38))
        + gloss
        + dots
        + teeth
        + disc(62, 13, 5.6, BLACK)
        + disc(62, 13, 1.8, WHITE)
    )


def parallel_scratches() -> str:
    """Straight light scratches from top to bottom, in the direction of feed."""
    scratches = (
        line(24, 6, 24, 66, WHITE, 1.3)
        + line(29, 12, 29, 58, grey(0.75), 0.8)
        + line(52, 6, 52, 40, WHITE, 1.8)
        + line(52, 46, 52, 66, WHITE, 1)
        + line(68, 20, 68, 66, grey(0.8), 1)
    )
    return rect(6, 6, 74, 60, grey(0.34)) + scratches + arrow(88, 14, 88, 58)


def bronze_sheen() -> str:
    """A tilted dark print that throws back a metallic streak from a lamp."""
    lamp = disc(14, 12, 7, WHITE, stroke=DARK, stroke_width=1.8)
    rays = "".join(line(20 + 1.5 * i, 17 - 4 * i, 32 + 4 * i, 25 - 5 * i, DUSK, 1.2) for i in range(3))
    ground = area([(6, 64), (32, 26), (92, 26), (74, 64)], BLACK)
    streak = "".join(
        area([(28 + 5 * i, 64), (48 + 5 * i, 26), (51.2 + 5 * i, 26), (31.6 + 5 * i, 64)], grey(tone))
        for i, tone in enumerate((0.3, 0.55, 0.85, 0.95, 0.7, 0.4))
    )
    return ground + streak + lamp + rays


def gloss_difference() -> str:
    """A sheet under a window: the bare half mirrors its panes, the inked half does not."""
    bare = rect(4, 10, 44, 54, WHITE, stroke=LIGHT)
    inked = rect(48, 10, 44, 54, grey(0.42))
    panes = "".join(
        area(
            [(x, y), (x + 11, y - 3), (x + 11, y + 12), (x, y + 15)],
            grey(0.84),
            stroke=MIDDLE,
            stroke_width=1,
        )
        for x, y in ((14, 21), (28, 17.2), (14, 39.5), (28, 35.7))
    )
    dull = "".join(disc(50 + 40 * u, 12 + 50 * v, 0.8, grey(0.54)) for u, v, _ in scattered(90))
    return bare + panes + inked + dull


def rub_marks() -> str:
    """Dull streaks where something rubbed a matte black."""
    streaks = ""
    for x, y, length in ((14, 22, 34), (18, 27, 40), (16, 32, 28), (46, 48, 36), (50, 53, 30), (48, 58, 22)):
        streaks += path(f"M{x} {y}q{length / 2} -7 {length} -2", grey(0.52), 2.6, opacity=0.75)
        streaks += path(f"M{x + 4} {y + 1.5}q{length / 2} -6 {length - 8} -2", grey(0.72), 0.8)
    return rect(4, 4, 88, 64, grey(0.14)) + streaks


def finger_marks() -> str:
    """Two finger prints on a dark matte sheet."""
    marks = ""
    for x, y, tilt in ((32, 34, -14), (66, 40, 10)):
        ridges = ""
        for i in range(1, 6):
            foot, arch = y + 2.2 * i + 4, y - 4.6 * i
            reach = f"C{x - 3.4 * i} {arch} {x + 3.4 * i} {arch} {x + 2.6 * i} {foot}"
            ridges += path(f"M{x - 2.6 * i} {foot}{reach}", grey(0.66), 1.2)
        marks += turned(tilt, x, y, oval(x, y + 2, 13, 18, grey(0.28)), ridges)
    return rect(4, 4, 88, 64, grey(0.16)) + marks


def comes_off_damp() -> str:
    """A cotton bud that has taken ink and left a pale streak."""
    streak = path("M14 52q20-14 42-14", grey(0.72), 9) + path("M16 50q20-12 38-13", grey(0.86), 3)
    stick = line(62, 34, 90, 8, WHITE, 3.4) + line(62, 34, 90, 8, MIDDLE, 0.8)
    bud = turned(-43, 60, 36, oval(60, 36, 9, 5.4, DARK), oval(63, 36, 5.6, 4.4, LIGHT))
    return rect(4, 20, 88, 48, grey(0.22)) + streak + stick + bud


def tide_ring() -> str:
    """A drop of water, and the ring it left."""
    drop = path("M72 5q8 11 8 15a8 8 0 0 1-16 0q0-4 8-15Z", DARK, 1.6, WHITE)
    ground = rect(4, 16, 88, 52, grey(0.5))
    stain = path("M18 44q-2-14 14-16t24 8t-4 20t-22 4t-12-16Z", BLACK, 2.6, grey(0.72))
    inner = path("M25 44q0-8 9-10t15 5t-3 12t-14 2t-7-9Z", grey(0.6), 1.4)
    run = path("M44 58q3 6 1 10M34 59q-2 5 0 9", grey(0.22), 2)
    return ground + stain + inner + run + drop


def flakes_at_corner() -> str:
    """A bent corner that has shed its ink."""
    sheet = area([(6, 6), (90, 6), (90, 36), (60, 66), (6, 66)], grey(0.28))
    bare = area([(90, 24), (90, 36), (60, 66), (46, 66), (58, 58), (62, 48), (74, 44), (78, 32)], WHITE)
    fold = line(90, 36, 60, 66, DARK, 1.4)
    flakes = ""
    for x, y, tilt in ((80, 58, 20), (88, 50, -30), (72, 66, 60), (90, 64, 10)):
        flakes += turned(
            tilt, x, y, area([(x - 3, y - 2), (x + 3, y - 3), (x + 2, y + 2), (x - 2, y + 3)], grey(0.28))
        )
    return sheet + bare + fold + flakes
