"""Pictures of what is wrong with colour and tone; hatching stands for hue."""

from __future__ import annotations

from laydown.report.symptom_drawings.strokes import (
    BLACK,
    DARK,
    DUSK,
    LIGHT,
    MIDDLE,
    PALE,
    PAPER,
    WHITE,
    area,
    arrow,
    disc,
    frame,
    grey,
    landscape,
    line,
    oval,
    path,
    rect,
    ring,
    window,
)

_WEDGE = (0.92, 0.74, 0.56, 0.38, 0.22, 0.08)


def dark_dull_cast() -> str:
    """As it should be, and beside it dark, flat and hatched one way."""
    hatch = "".join(line(-30 + 6 * i, 52, 14 + 6 * i, 0, grey(0.24), 1.2) for i in range(14))
    return (
        landscape(6, 12, 32, 48)
        + arrow(41, 36, 50, 36)
        + landscape(54, 12, 36, 48, (grey(0.42), grey(0.55), grey(0.3), grey(0.2)))
        + window(54, 12, 36, 48, hatch)
    )


def colours_far_off() -> str:
    """Three hatchings that come out as other hatchings."""
    parts = []
    for row in range(3):
        y = 6 + 21 * row
        parts += [_hatched(8, y, row), arrow(36, y + 9, 58, y + 9), _hatched(62, y, (row + 1) % 3)]
    return "".join(parts)


def _hatched(x: float, y: float, kind: int) -> str:
    """A patch of one of three hatchings, which stand for hues."""
    if kind == 0:
        inside = "".join(line(0, 3 + 4 * i, 26, 3 + 4 * i, DARK, 1.8) for i in range(5))
    elif kind == 1:
        inside = "".join(disc(4 + 6 * i, 4 + 5 * j, 1.7, DARK) for i in range(4) for j in range(3))
    else:
        inside = "".join(line(-12 + 6 * i, 18, 6 + 6 * i, 0, DARK, 1.8) for i in range(8))
    return rect(x, y, 26, 18, WHITE) + window(x, y, 26, 18, inside) + frame(x, y, 26, 18, DUSK, 1)


def slightly_off_everywhere() -> str:
    """A chart whose every patch is a little off the target in its corner."""
    parts = []
    for row in range(3):
        for column in range(4):
            x, y = 8 + 20.5 * column, 7 + 20 * row
            tone = 0.88 - 0.07 * (4 * row + column)
            parts.append(rect(x, y, 18, 17, grey(tone)))
            parts.append(area([(x, y), (x + 18, y), (x, y + 17)], grey(tone - 0.11)))
    return "".join(parts)


def blocked_shadows() -> str:
    """A wedge whose last three steps are one, with an edge that creeps."""
    tones = (0.9, 0.7, 0.5, 0.1, 0.1, 0.1)
    steps = "".join(rect(6 + 14 * i, 14, 14, 32, grey(tone)) for i, tone in enumerate(tones))
    creep = path("M48 14q-3 2 0 4t0 4t-1 4t1 4t-2 4t2 4t0 4t0 4H60V14Z", "none", 0, grey(0.1))
    bracket = path("M50 52v4h38v-4", DUSK) + line(66, 61, 72, 61, DUSK) + line(66, 65, 72, 65, DUSK)
    return steps + creep + bracket


def hook() -> str:
    """A tone curve that turns back at its end, over the steps it was read from."""
    axes = path("M12 6V46H90", MIDDLE, 1.2)
    curve = path("M14 10C30 14 46 34 62 41Q72 45 80 36L88 27", BLACK, 2.6)
    tones = (0.85, 0.66, 0.46, 0.26, 0.06, 0.32)
    steps = "".join(rect(12 + 13 * i, 52, 13, 14, grey(tone)) for i, tone in enumerate(tones))
    return axes + curve + steps


def weak_black() -> str:
    """A wedge that reaches black, and under it one that stops at grey."""
    parts = []
    for i, tone in enumerate(_WEDGE):
        parts.append(rect(6 + 14 * i, 8, 14, 20, grey(tone)))
        parts.append(rect(6 + 14 * i, 40, 14, 24, grey(0.93 - 0.4 * (0.92 - tone) / 0.84)))
    return "".join(parts) + arrow(48, 29.5, 48, 37.5)


def left_right_difference() -> str:
    """One colour that darkens from the left edge of a sheet to the right."""
    tones = (0.8, 0.72, 0.62, 0.5, 0.38)
    strip = "".join(rect(10 + 15.2 * i, 18, 15.3, 26, grey(tone)) for i, tone in enumerate(tones))
    ends = line(30, 58, 66, 58, DUSK) + path("M34 54l-4 4l4 4M62 54l4 4l-4 4", DUSK)
    return rect(6, 8, 84, 44, WHITE, stroke=LIGHT) + strip + ends


def greys_change_with_light() -> str:
    """One grey, half of it under a window and half under a bulb."""
    pane = frame(14, 5, 20, 20, DARK, 1.5) + path("M24 5v20M14 15h20", DARK, 1.2)
    bulb = disc(70, 12, 7, WHITE, stroke=DARK, stroke_width=1.5) + rect(67, 19, 6, 5, DARK)
    left = rect(6, 34, 42, 32, grey(0.62))
    hatch = "".join(line(-30 + 5 * i, 32, -2 + 5 * i, 0, grey(0.38), 1.4) for i in range(16))
    right = rect(48, 34, 42, 32, grey(0.56)) + window(48, 34, 42, 32, hatch)
    return pane + bulb + left + right


def pair_differs_at_home() -> str:
    """Two patches alike in a booth, and unlike in a house."""
    booth = path("M5 22V14H43V22", DARK, 1.5) + "".join(
        line(14 + 10 * i, 14, 14 + 10 * i, 9) for i in range(3)
    )
    house = path("M51 26L72 8L91 26", DARK, 2)
    alike = rect(8, 30, 16, 32, grey(0.55)) + rect(24, 30, 16, 32, grey(0.55))
    unlike = rect(56, 30, 16, 32, grey(0.66)) + rect(72, 30, 16, 32, grey(0.4))
    return booth + house + alike + unlike + frame(5, 26, 38, 40, DUSK, 1) + frame(53, 26, 38, 40, DUSK, 1)


def too_dark_for_client() -> str:
    """A bright screen, and the print of it on a dim wall under a small lamp."""
    screen = rect(5, 16, 36, 30, DARK) + landscape(8, 19, 30, 24, (WHITE, PALE, LIGHT, MIDDLE))
    stand = path("M23 46v6M14 53h18", DARK, 2.5)
    wall = rect(48, 0, 48, 72, grey(0.52))
    lamp = path("M72 0v6", BLACK, 1.5) + path("M66 12l3-6h6l3 6Z", BLACK, 1, BLACK)
    hung = rect(54, 20, 36, 38, BLACK) + landscape(
        57, 23, 30, 32, (grey(0.3), grey(0.4), grey(0.2), grey(0.13))
    )
    return screen + stand + wall + lamp + hung


def steps_in_gradation() -> str:
    """A smooth sky, and under it one in steps."""
    smooth = "".join(rect(6 + 2 * i, 7, 2.2, 24, grey(0.95 - 0.017 * i)) for i in range(42))
    steps = "".join(rect(6 + 14 * i, 40, 14, 26, grey(0.95 - 0.143 * i)) for i in range(6))
    return rect(5, 6, 86, 26, DUSK) + smooth + rect(5, 39, 86, 28, DUSK) + steps


def reads_off_looks_right() -> str:
    """An eye that is content, and a target that is missed."""
    eye = path("M6 34Q24 14 42 34Q24 54 6 34Z", BLACK, 2, WHITE) + disc(24, 34, 7, BLACK)
    content = path("M16 60l5 5l11-11", DARK, 2.5)
    target = ring(70, 36, 21, DARK, 1.5) + ring(70, 36, 13, MIDDLE, 1.5) + ring(70, 36, 5, MIDDLE, 1.5)
    return eye + content + target + disc(83, 22, 4, BLACK)


def darker_tomorrow() -> str:
    """A wet patch, a clock, and the same patch darker."""
    drop = path("M20 6q6 8 6 11a6 6 0 0 1-12 0q0-3 6-11Z", DARK, 1.5, WHITE)
    wet = rect(6, 30, 28, 36, grey(0.6))
    clock = disc(48, 20, 11, WHITE, stroke=DARK, stroke_width=1.8) + path("M48 12v8l6 4", DARK, 1.8)
    return drop + wet + clock + arrow(40, 48, 56, 48) + rect(62, 30, 28, 36, grey(0.22))


def first_print_differs() -> str:
    """Three prints in a row, the first unlike the others."""
    parts = []
    for i in range(3):
        x = 5 + 30.5 * i
        tones = (grey(0.97), WHITE, grey(0.8), grey(0.66)) if i == 0 else (PALE, WHITE, MIDDLE, DARK)
        parts += [rect(x, 8, 26, 44, WHITE, stroke=LIGHT), landscape(x + 3, 12, 20, 30, tones)]
        parts += [disc(x + 13 - 3.5 * i + 7 * j, 62, 2.4, DARK) for j in range(i + 1)]
    return "".join(parts)


def reorder_does_not_match() -> str:
    """The print that was delivered, and a new one that is not the same."""
    unlike = line(43, 32, 53, 32, BLACK, 2) + line(43, 39, 53, 39, BLACK, 2) + line(51, 27, 45, 44, BLACK, 2)
    new = (grey(0.72), grey(0.86), grey(0.68), grey(0.46))
    old_frame = frame(5, 11, 34, 50, BLACK, 3)
    return (
        landscape(7, 13, 30, 46)
        + old_frame
        + unlike
        + rect(57, 10, 34, 52, WHITE, stroke=LIGHT)
        + landscape(60, 13, 28, 46, new)
    )


def yellow_on_wall() -> str:
    """A framed print in sunlight, its mat lifted: the covered border is still white."""
    sun = disc(10, 10, 6, WHITE, stroke=DARK, stroke_width=1.5)
    rays = "".join(line(17 + 2 * i, 15 - 5 * i, 25 + 3 * i, 22 - 6 * i, DARK, 1.3) for i in range(3))
    hung = rect(30, 12, 60, 54, grey(0.8)) + frame(30, 12, 60, 54, BLACK, 3)
    covered = rect(33, 15, 54, 9, WHITE) + rect(33, 24, 9, 39, WHITE)
    lifted = area([(87, 63), (87, 42), (66, 63)], PAPER, stroke=DARK, stroke_width=1.2)
    shown = landscape(46, 28, 32, 24, (grey(0.72), grey(0.8), MIDDLE, DARK))
    return hung + covered + shown + lifted + sun + rays


def yellow_in_drawer() -> str:
    """An open drawer with a sheet whose part that once saw light has stained."""
    chest = rect(6, 40, 84, 28, grey(0.36)) + rect(10, 44, 76, 20, grey(0.24)) + oval(48, 54, 8, 2.4, LIGHT)
    sheet = area([(18, 40), (30, 8), (84, 8), (78, 40)], WHITE, stroke=MIDDLE, stroke_width=1)
    stain = area([(31, 34), (38, 14), (75, 14), (71, 34)], grey(0.7))
    blots = oval(46, 25, 6, 4, grey(0.6)) + oval(60, 20, 5, 3, grey(0.62)) + oval(62, 29, 4, 2.4, grey(0.6))
    return sheet + stain + blots + chest


def whites_warmer_coated() -> str:
    """A bright sheet with a glow, dulled where the roller has passed."""
    sheet = rect(6, 12, 84, 50, WHITE, stroke=LIGHT)
    coated = rect(46, 12, 44, 50, grey(0.8))
    glow = ""
    for x, y in ((17, 24), (33, 36), (18, 50)):
        cross = f"M{x} {y - 5}V{y + 5}M{x - 5} {y}H{x + 5}"
        glow += path(f"{cross}M{x - 3.2} {y - 3.2}l6.4 6.4M{x - 3.2} {y + 3.2}l6.4 -6.4", MIDDLE, 1.1)
    roller = rect(40, 18, 9, 38, DARK) + path("M45 56v6h20v8", DARK, 2)
    return sheet + coated + glow + roller
