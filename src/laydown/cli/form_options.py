"""What the commands about forms understand: lengths, and names of inks."""

from __future__ import annotations

import click

from laydown.science.forms.page import MM_PER_INCH


class Length(click.ParamType[float]):
    """A length in mm, or in inches where it ends in "in"."""

    name = "length"

    def convert(self, value: str | float, param: click.Parameter | None, ctx: click.Context | None) -> float:
        """To mm."""
        if isinstance(value, float):
            return value
        text = value.strip().lower()
        try:
            if text.endswith("in"):
                return float(text[:-2]) * MM_PER_INCH
            return float(text.removesuffix("mm"))
        except ValueError:
            self.fail(f"{value} is no length. Write 432, 432mm or 17in.", param, ctx)


LENGTH = Length()


def channels_of(inks: str) -> tuple[str, ...]:
    """RGB and CMYK by their letters, other inks between commas."""
    named = inks.replace(" ", "").split(",")
    return tuple(named) if len(named) > 1 else tuple(inks.strip().upper())
