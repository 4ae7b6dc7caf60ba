"""Steps next to black and next to bare: how near to either end tones can still be told apart."""

from __future__ import annotations

from typing import Literal

from laydown.kernel.errors import BadSetting
from laydown.science.forms.device_colours import grey
from laydown.science.forms.labels import label, line_height_mm
from laydown.science.forms.page import Block, Box, Element, Paint, Shape

End = Literal["shadows", "highlights"]
_CODES = {"shadows": range(0, 31, 2), "highlights": range(225, 256)}
_FRAME_MM = 3.0
_MARK_MM = (2.0, 0.2)


def tone_steps(
    end: End,
    *,
    left_mm: float,
    top_mm: float,
    channels: tuple[str, ...],
    every: int | None = None,
    step_mm: float = 10.0,
    high_mm: float = 12.0,
) -> Element:
    """A row of steps in a frame of black (shadows) or of bare medium (highlights).

    Each step touches the frame above and below: the first that parts from it is the end of the tone scale.

    Parameters
    ----------
    end : "shadows" (0 to 30 of 255 in twos) or "highlights" (225 to 255 in ones)
    left_mm, top_mm : corner of the element
    channels : names of the device values of the page
    every : how many 255ths lie between steps, if not the usual 2 and 1
    step_mm, high_mm : size of a step

    Returns
    -------
    Element of kind "tone steps"; facts: ``codes`` (of 255, 255 is bare), ``steps_mm`` (left, top, right,
    bottom of each), ``reference`` ("black" or "bare"), ``reference_mm`` (the frame with the steps in it)

    Raises
    ------
    BadSetting
        if the steps are none.

    Checked against
    ---------------
    Every pixel of the drawn steps holds the code.
    """
    usual = _CODES[end]
    if every is not None and not 1 <= every <= 10:
        raise BadSetting(f"steps of {every} of 255 are not fine steps.", todo="Ask for 1 to 10.")
    codes = list(range(usual.start, usual.stop, every or usual.step))
    edge = _FRAME_MM
    frame = Box(
        left_mm,
        top_mm,
        left_mm + len(codes) * step_mm + 2.0 * edge,
        top_mm + high_mm + 2.0 * edge,
    )
    steps = [
        Box(0.0, 0.0, step_mm, high_mm).moved(frame.left_mm + edge + n * step_mm, frame.top_mm + edge)
        for n in range(len(codes))
    ]
    paints: list[Paint] = [Block(frame, grey(0.0, channels))] if end == "shadows" else []
    paints += [Block(box, grey(code / 255.0, channels)) for box, code in zip(steps, codes, strict=True)]
    if end == "highlights":
        paints += _corner_marks(frame, channels)
    for box, code in zip(steps, codes, strict=True):
        paints.append(
            label(
                f"{code}",
                left_mm=box.middle_mm[0],
                top_mm=frame.bottom_mm,
                channels=channels,
                size_pt=4.0,
                align=0.5,
            )
        )
    return Element(
        "tone steps",
        end,
        Box(frame.left_mm, frame.top_mm, frame.right_mm, frame.bottom_mm + line_height_mm(4.0)),
        tuple(paints),
        {
            "codes": tuple(float(code) for code in codes),
            "steps_mm": tuple(
                value for box in steps for value in (box.left_mm, box.top_mm, box.right_mm, box.bottom_mm)
            ),
            "reference": "black" if end == "shadows" else "bare",
            "reference_mm": (frame.left_mm, frame.top_mm, frame.right_mm, frame.bottom_mm),
        },
    )


def _corner_marks(frame: Box, channels: tuple[str, ...]) -> list[Paint]:
    """Small corners at the border of the frame, so that steps nobody can see are found all the same."""
    long, thin = _MARK_MM
    made: list[Paint] = []
    for x, inward in ((frame.left_mm, 1.0), (frame.right_mm, -1.0)):
        for y, down in ((frame.top_mm, 1.0), (frame.bottom_mm, -1.0)):
            level = sorted((x, x + inward * long)), sorted((y, y + down * thin))
            upright = sorted((x, x + inward * thin)), sorted((y, y + down * long))
            for (left, right), (top, bottom) in (level, upright):
                # Outlines, not blocks: all arms are equally heavy, wherever the pixels lie.
                made.append(Shape((Box(left, top, right, bottom).corners(),), grey(0.45, channels)))
    return made
