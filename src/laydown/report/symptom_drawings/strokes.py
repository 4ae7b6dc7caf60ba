"""What the pictures of symptoms are drawn with: greys, shapes, a small landscape, an even scatter of points.

A picture is 96 by 72 units, opaque and neutral, and holds no style, script or id, so that many may stand on
one page under a strict content policy.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from xml.sax.saxutils import escape

WIDTH, HEIGHT = 96, 72

WHITE, PAPER, PALE, LIGHT = "#ffffff", "#f2f2f2", "#dcdcdc", "#bdbdbd"
MIDDLE, DUSK, DARK, BLACK = "#8f8f8f", "#6a6a6a", "#454545", "#1b1b1b"

Tones = tuple[str, str, str, str]
GOOD: Tones = (PALE, WHITE, MIDDLE, DARK)
"""Sky, sun, far hill and near hill of a landscape as it should be."""


def grey(lightness: float) -> str:
    """A neutral grey, 0 black to 1 white."""
    level = round(255 * min(max(lightness, 0.0), 1.0))
    return f"#{level:02x}{level:02x}{level:02x}"


def picture(title: str, *parts: str) -> str:
    """A whole SVG document with its title for those who cannot see it."""
    ground = rect(0, 0, WIDTH, HEIGHT, PAPER)
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {WIDTH} {HEIGHT}" role="img">'
        f"<title>{escape(title)}</title>{ground}{''.join(parts)}</svg>"
    )


def shape(tag: str, **attributes: str | float) -> str:
    """One element; underscores in names stand for hyphens."""
    told = "".join(f' {name.replace("_", "-")}="{_text(value)}"' for name, value in attributes.items())
    return f"<{tag}{told}/>"


def rect(x: float, y: float, width: float, height: float, fill: str, **more: str | float) -> str:
    """A filled rectangle."""
    return shape("rect", x=x, y=y, width=width, height=height, fill=fill, **more)


def frame(x: float, y: float, width: float, height: float, stroke: str = DARK, weight: float = 1.5) -> str:
    """The outline of a rectangle."""
    return rect(x, y, width, height, "none", stroke=stroke, stroke_width=weight)


def disc(x: float, y: float, radius: float, fill: str, **more: str | float) -> str:
    """A filled circle."""
    return shape("circle", cx=x, cy=y, r=radius, fill=fill, **more)


def ring(x: float, y: float, radius: float, stroke: str = DARK, weight: float = 1.5) -> str:
    """The outline of a circle."""
    return disc(x, y, radius, "none", stroke=stroke, stroke_width=weight)


def oval(x: float, y: float, rx: float, ry: float, fill: str, **more: str | float) -> str:
    """A filled ellipse."""
    return shape("ellipse", cx=x, cy=y, rx=rx, ry=ry, fill=fill, **more)


def line(
    x1: float, y1: float, x2: float, y2: float, stroke: str = DARK, weight: float = 1.5, **more: str | float
) -> str:
    """A straight line with round ends."""
    ends: dict[str, str | float] = {"stroke_linecap": "round"}
    return shape("line", x1=x1, y1=y1, x2=x2, y2=y2, stroke=stroke, stroke_width=weight, **(ends | more))


def path(d: str, stroke: str = DARK, weight: float = 1.5, fill: str = "none", **more: str | float) -> str:
    """A path with round joins."""
    ends: dict[str, str | float] = {"stroke_linecap": "round", "stroke_linejoin": "round"}
    return shape("path", d=d, fill=fill, stroke=stroke, stroke_width=weight, **(ends | more))


def area(points: Sequence[tuple[float, float]], fill: str, **more: str | float) -> str:
    """A filled polygon."""
    told = " ".join(f"{_text(x)},{_text(y)}" for x, y in points)
    return shape("polygon", points=told, fill=fill, **more)


def window(x: float, y: float, width: float, height: float, *parts: str) -> str:
    """Parts in their own coordinates from 0, cut off at the edges."""
    place = f'x="{_text(x)}" y="{_text(y)}" width="{_text(width)}" height="{_text(height)}"'
    return f"<svg {place}>{''.join(parts)}</svg>"


def turned(degrees: float, x: float, y: float, *parts: str) -> str:
    """Parts turned about a point."""
    return f'<g transform="rotate({_text(degrees)} {_text(x)} {_text(y)})">{"".join(parts)}</g>'


def arrow(x1: float, y1: float, x2: float, y2: float, stroke: str = DUSK, weight: float = 1.5) -> str:
    """A line with an open head at its end, level or upright."""
    dx, dy = (x2 > x1) - (x2 < x1), (y2 > y1) - (y2 < y1)
    size = 3.0
    head = (
        f"M{_text(x2 - size * dx - size * dy)} {_text(y2 - size * dy - size * dx)}"
        f"L{_text(x2)} {_text(y2)}L{_text(x2 - size * dx + size * dy)} {_text(y2 - size * dy + size * dx)}"
    )
    return line(x1, y1, x2, y2, stroke, weight) + path(head, stroke, weight)


def landscape(x: float, y: float, width: float, height: float, tones: Tones = GOOD) -> str:
    """A sun over two hills: the picture on a print."""
    sky, sun, far, near = tones
    w, h = width, height
    behind = f"M0 {0.62 * h:.1f}Q{0.3 * w:.1f} {0.25 * h:.1f} {0.62 * w:.1f} {0.68 * h:.1f}V{h}H0Z"
    before = f"M{0.3 * w:.1f} {h}Q{0.68 * w:.1f} {0.4 * h:.1f} {w} {0.66 * h:.1f}V{h}Z"
    hills = path(behind, "none", 0, far) + path(before, "none", 0, near)
    return window(x, y, w, h, rect(0, 0, w, h, sky), disc(0.72 * w, 0.28 * h, 0.13 * h, sun), hills)


def scattered(count: int, *, start: int = 1) -> Iterator[tuple[float, float, float]]:
    """Points spread evenly and without order over the unit cube (Halton's sequence in 2, 3 and 5)."""
    for number in range(start, start + count):
        yield _halton(number, 2), _halton(number, 3), _halton(number, 5)


def _halton(number: int, base: int) -> float:
    share, value = 1.0, 0.0
    while number:
        share /= base
        value += share * (number % base)
        number //= base
    return value


def _text(value: str | float) -> str:
    return (
        escape(value, {'"': "&quot;"}) if isinstance(value, str) else f"{value:.2f}".rstrip("0").rstrip(".")
    )
