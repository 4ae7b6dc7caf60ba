"""Thin bars and combs of one colour in a field of another: where inks run into each other."""

from __future__ import annotations

from laydown.science.forms.device_colours import bare, known_names, pure
from laydown.science.forms.labels import label, line_height_mm
from laydown.science.forms.page import Block, Box, Colour, Element, Paint, Shape

CELL_MM = (12.0, 10.0)
BAR_MM = 0.5
TOOTH_MM = 0.25
TEETH = 6
_GAP_MM = 0.8
_LINE_MM = (1.0, 1.2, 1.0)  # from the left border to the bar, from there and on to the combs, border to top
_HEAD_MM = 4.0


def bleed_targets(
    *, left_mm: float, top_mm: float, channels: tuple[str, ...], names: tuple[str, ...] | None = None
) -> tuple[Element, ...]:
    """Every colour on every other, and on bare: a field each, with a bar and two combs in it.

    Fields are in rows, bars in columns. Where both are the same colour, the bar and comb are bare. Bars take
    the place of the field (device values of the bar alone): what is seen of the field's ink in the bar, or of
    the bar's in the field, has run there. One comb is upright, one level: wet ink may run more one way.

    Parameters
    ----------
    left_mm, top_mm : corner of the whole group
    channels : names of the device values of the page
    names : which colours, all of R, G, B, C, M, Y, K that the channels make if not given

    Returns
    -------
    tuple of Elements: of kind "bleed", named such as "K on Y"; first come two of kind "words" with the names
    of the columns and rows. Facts of each: ``field`` and ``bar`` (names), ``field_mm``, ``bar_mm``,
    ``comb_mm`` and ``level_comb_mm`` (boxes; a gap after the last tooth belongs to them), ``bar_width_mm``,
    ``tooth_mm`` (width of teeth and of gaps), ``teeth``

    Raises
    ------
    BadSetting
        if a colour cannot be made of the channels.

    Checked against
    ---------------
    Colours in the drawn boxes are those of the facts; half of each comb is bar.
    """
    chosen = known_names(channels) if names is None else names
    across, down = CELL_MM[0] + _GAP_MM, CELL_MM[1] + _GAP_MM
    cells = []
    first_left, first_top = left_mm + 2.0 * _HEAD_MM, top_mm + _HEAD_MM
    rows = ("bare", *chosen)
    for row, field in enumerate(rows):
        for column, bar in enumerate(chosen):
            at = Box(0.0, 0.0, *CELL_MM).moved(first_left + column * across, first_top + row * down)
            cells.append(_cell(field, bar, at, channels))
    columns = tuple(
        label(
            f"{bar} bars",
            left_mm=first_left + column * across,
            top_mm=top_mm + _HEAD_MM - line_height_mm(5.0) - 0.3,
            channels=channels,
        )
        for column, bar in enumerate(chosen)
    )
    sides = tuple(
        label(
            field if field == "bare" else f"in {field}",
            left_mm=left_mm,
            top_mm=first_top + row * down + CELL_MM[1] / 2.0 - line_height_mm(5.0) / 2.0,
            channels=channels,
        )
        for row, field in enumerate(rows)
    )
    right = first_left + len(chosen) * across - _GAP_MM
    bottom = first_top + len(rows) * down - _GAP_MM
    return (
        Element("words", "bleed: bars", Box(first_left, top_mm, right, first_top), columns),
        Element("words", "bleed: fields", Box(left_mm, first_top, first_left, bottom), sides),
        *cells,
    )


def _cell(field: str, bar: str, box: Box, channels: tuple[str, ...]) -> Element:
    ground = _colour(field, channels)
    ink = bare(channels) if bar == field else pure(bar, channels)
    left, between, top = _LINE_MM
    high = box.bottom_mm - top
    line = Box(box.left_mm + left, box.top_mm + top, box.left_mm + left + BAR_MM, high)
    start = line.right_mm + between
    comb = Box(start, line.top_mm, start + 2.0 * TEETH * TOOTH_MM, high)
    aside = Box(comb.right_mm + between, comb.top_mm, box.right_mm - left, comb.top_mm + comb.width_mm)
    teeth = [
        Box(at, comb.top_mm, at + TOOTH_MM, high).corners()
        for at in (start + 2.0 * n * TOOTH_MM for n in range(TEETH))
    ]
    teeth += [
        Box(aside.left_mm, at, aside.right_mm, at + TOOTH_MM).corners()
        for at in (aside.top_mm + 2.0 * n * TOOTH_MM for n in range(TEETH))
    ]
    paints: list[Paint] = [] if field == "bare" else [Block(box, ground)]
    paints.append(Shape((line.corners(), *teeth), ink))
    return Element(
        "bleed",
        f"{'bare' if bar == field else bar} on {field}",
        box,
        tuple(paints),
        {
            "field": field,
            "bar": "bare" if bar == field else bar,
            "field_mm": _sides(box),
            "bar_mm": _sides(line),
            "comb_mm": _sides(comb),
            "level_comb_mm": _sides(aside),
            "bar_width_mm": BAR_MM,
            "tooth_mm": TOOTH_MM,
            "teeth": TEETH,
        },
    )


def _colour(name: str, channels: tuple[str, ...]) -> Colour:
    return bare(channels) if name == "bare" else pure(name, channels)


def _sides(box: Box) -> tuple[float, ...]:
    return box.left_mm, box.top_mm, box.right_mm, box.bottom_mm
