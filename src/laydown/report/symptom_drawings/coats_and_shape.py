"""Pictures of coats and laminates, and of sheets and canvas that do not lie flat or fit."""

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
    frame,
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


def fog_inside_glass() -> str:
    """A framed dark picture behind fogged glass, with one wiped stroke."""
    inside = landscape(12, 10, 72, 52, (grey(0.62), grey(0.8), grey(0.2), grey(0.1)))
    fog = "".join(
        oval(14 + 68 * u, 30 + 32 * v, 9 + 5 * w, 6 + 3 * w, WHITE, opacity=0.2) for u, v, w in scattered(34)
    )
    wiped = path("M24 56L48 36", grey(0.16), 6)
    return inside + window(0, 0, 84, 62, fog) + wiped + frame(9, 7, 78, 58, BLACK, 5)


def bubbles_under_laminate() -> str:
    """Bubbles under a film whose corner is lifted."""
    bubbles = ""
    for x, y, r in ((22, 22, 8), (46, 40, 11), (70, 24, 6), (24, 52, 5), (72, 52, 8), (50, 16, 4)):
        bubbles += disc(x, y, r, grey(0.5), stroke=grey(0.75), stroke_width=1.2)
        bubbles += oval(x - 0.35 * r, y - 0.4 * r, 0.3 * r, 0.2 * r, WHITE)
    lifted = area([(92, 4), (92, 22), (74, 4)], WHITE, stroke=DARK, stroke_width=1.2)
    return rect(4, 4, 88, 64, grey(0.28)) + bubbles + lifted


def silver_pinpoints() -> str:
    """Countless bright points in a dark area under a film."""
    points = "".join(disc(6 + 84 * u, 6 + 60 * v, 0.55 + 0.5 * w, WHITE) for u, v, w in scattered(210))
    lifted = area([(92, 4), (92, 20), (76, 4)], WHITE, stroke=DARK, stroke_width=1.2)
    return rect(4, 4, 88, 64, grey(0.12)) + points + lifted


def cracks_at_wrap() -> str:
    """The corner of a wrapped canvas, cracked white along the fold."""
    front = area([(6, 10), (62, 10), (62, 66), (6, 66)], grey(0.36))
    side = area([(62, 10), (90, 4), (90, 56), (62, 66)], grey(0.22))
    cracks = path("M62 12l-3 5l5 5l-5 6l5 5l-6 6l6 5l-4 6l4 6l-3 8", WHITE, 2.6)
    branches = path(
        "M59 17l-8-2M64 22l9 1M59 28l-9 3M64 33l8-3M58 39l-8 1M64 44l10 3M60 50l-9 3M64 56l7-3", WHITE, 1.3
    )
    return front + side + cracks + branches


def orange_skin() -> str:
    """A coat dimpled all over, lit from the side."""
    dimples = ""
    for row in range(7):
        for column in range(9):
            x, y = 10 * column + (5 if row % 2 else 0), 4 + 9.4 * row
            dimples += oval(x, y, 4.2, 3.6, grey(0.58)) + path(
                f"M{x - 3.6} {y + 1}q1.4 -4.6 5.6 -3.8", grey(0.36), 1.3
            )
            dimples += path(f"M{x - 1} {y + 3.4}q4 .4 4.6 -3.4", grey(0.92), 1.3)
    return rect(4, 4, 88, 64, grey(0.66)) + window(4, 4, 88, 64, dimples)


def sandy_overspray() -> str:
    """A gun held far away, and the spray lying on the sheet as sand."""
    gun = path("M4 14h16v8h-8l-3 12h-6Z", DARK, 1, DARK) + rect(20, 15, 5, 6, BLACK)
    cloud = "".join(disc(26 + 46 * u, 18 + (2 + 26 * u) * (v - 0.25), 0.9, DUSK) for u, v, _ in scattered(60))
    sand = "".join(
        disc(4 + 88 * u, 60 - 8 * v * v, 0.8 + 0.8 * w, grey(0.3 + 0.4 * w))
        for u, v, w in scattered(150, start=9)
    )
    return gun + cloud + rect(2, 60, 92, 8, LIGHT) + sand


def foam_pinholes() -> str:
    """Bubbles in a coat, and dark holes where they burst."""
    foam = ""
    for u, v, w in scattered(52, start=3):
        x, y, r = 9 + 78 * u, 9 + 54 * v, 1.8 + 3 * w
        burst = 0.35 < w < 0.68
        shine = disc(x - 0.3 * r, y - 0.3 * r, 0.28 * r, WHITE)
        foam += disc(x, y, 1.2, BLACK) if burst else ring(x, y, r, DARK, 1.1) + shine
    return rect(4, 4, 88, 64, grey(0.68)) + foam


def milky_patches() -> str:
    """Milky patches over a dark picture."""
    clouds = ""
    for x, y, size in ((26, 26, 15), (66, 46, 18), (74, 16, 9)):
        for u, v, w in scattered(26, start=int(x)):
            dx, dy = 1.5 * size * (u - 0.5), size * (v - 0.5)
            clouds += oval(
                x + dx, y + dy, size * (0.3 + 0.25 * w), size * (0.26 + 0.2 * w), WHITE, opacity=0.11
            )
    scene = landscape(4, 4, 88, 64, (grey(0.3), grey(0.42), grey(0.18), grey(0.1)))
    return scene + window(0, 0, 92, 68, clouds)


def gloss_stripes() -> str:
    """Shiny and dull stripes across a coated picture, as wide as a roller."""
    stripes = "".join(rect(6 + 24 * i, 12, 11, 54, WHITE, opacity=0.55) for i in range(4))
    roller = rect(8, 3, 12, 7, BLACK) + path("M20 6.5h7v-4", BLACK, 1.4)
    return landscape(6, 12, 84, 54, (LIGHT, PALE, DUSK, grey(0.2))) + stripes + roller


def fish_eyes() -> str:
    """Round craters with a rim, where the coat drew back."""
    craters = ""
    for x, y, r in ((24, 24, 12), (64, 20, 8), (50, 50, 14), (82, 48, 7), (16, 56, 6)):
        craters += disc(x, y, r, grey(0.86)) + disc(x, y, 0.74 * r, grey(0.3)) + disc(x, y, 0.26 * r, WHITE)
    return rect(4, 4, 88, 64, grey(0.56)) + window(0, 0, 92, 68, craters)


def wavy_while_printing() -> str:
    """A sheet from the side, rising in waves under the head."""
    head = rect(34, 8, 26, 20, DARK) + rect(38, 28, 18, 4, BLACK)
    drops = "".join(line(42 + 5 * i, 34, 42 + 5 * i, 37, BLACK, 1.4) for i in range(3))
    waves = path("M4 52q7.5-14 15 0t15 0q7-14 14-4t14 4t15-6t15 2", BLACK, 3)
    return head + drops + waves + rect(4, 60, 88, 5, MIDDLE)


def not_square() -> str:
    """A picture standing askew on its sheet, beside a square."""
    sheet = rect(8, 5, 66, 62, WHITE, stroke=DUSK, stroke_width=1.2)
    askew = turned(7, 41, 36, landscape(18, 16, 46, 40))
    square = path("M80 30V66H92V60H86V30Z", DARK, 1, LIGHT)
    return sheet + askew + square


def wrong_length() -> str:
    """A print that ends short of the size asked, beside a rule."""
    asked = rect(8, 8, 80, 34, "none", stroke=DUSK, stroke_width=1.4, stroke_dasharray="3 2.4")
    short = landscape(8, 8, 64, 34)
    gap = arrow(86, 25, 74, 25, BLACK)
    rule = rect(8, 50, 80, 14, WHITE, stroke=DARK, stroke_width=1.2)
    ticks = "".join(line(12 + 6 * i, 50, 12 + 6 * i, 58 if i % 3 == 0 else 55, DARK, 1) for i in range(13))
    return asked + short + gap + rule + ticks


def curls_toward_image() -> str:
    """A sheet from the side, both ends risen towards its inked face."""
    sheet = path("M10 14Q16 54 48 54T86 14", DUSK, 8, stroke_linecap="butt")
    inside = path("M10 14Q16 54 48 54T86 14", WHITE, 5.6, stroke_linecap="butt")
    ink = path("M14.6 14Q20 49.4 48 49.4T81.4 14", BLACK, 3.4, stroke_linecap="butt")
    return sheet + inside + ink + line(4, 62, 92, 62, MIDDLE, 2)


def curl_near_core() -> str:
    """A roll, and three sheets from it: the nearer the core, the more curled."""
    turns = "".join(ring(20, 24, radius, MIDDLE, 1) for radius in (8.5, 12.5))
    roll = disc(20, 24, 17, WHITE, stroke=DARK, stroke_width=1.5) + turns + disc(20, 24, 5, DARK)
    sheets = (
        path("M48 12h42", BLACK, 2.6)
        + path("M48 26q21 14 42 0", BLACK, 2.6)
        + path("M62 49C46 46 48 68 69 68S92 46 76 49", BLACK, 2.6)
    )
    return roll + sheets + arrow(41, 12, 41, 62)


def slack_canvas() -> str:
    """A stretched canvas hanging in ripples, and its belly seen from the side."""
    cloth = rect(6, 6, 62, 60, grey(0.76)) + frame(6, 6, 62, 60, DARK, 3)
    ripples = ""
    for i in range(5):
        for shift, tone, weight in ((0, 0.48, 2.2), (2.2, 0.95, 1.6)):
            y = 12 + 9 * i + shift
            ripples += path(f"M8 {y}Q37 {y + 5 + 3.4 * i} 66 {y}", grey(tone), weight)
    bar = rect(76, 6, 4, 8, DARK) + rect(76, 58, 4, 8, DARK)
    belly = path("M80 8Q94 36 80 64", BLACK, 2.4) + line(80, 8, 80, 64, MIDDLE, 1, stroke_dasharray="2.4 2.4")
    return cloth + window(0, 0, 66.5, 64.5, ripples) + bar + belly
