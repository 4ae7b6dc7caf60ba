"""What each part of a form consists of, in groups that are placed as one."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import partial

from laydown.science.forms.bleed_targets import bleed_targets
from laydown.science.forms.device_colours import known_names
from laydown.science.forms.edge_target import CONTRASTS, edge_target
from laydown.science.forms.form_wish import Part
from laydown.science.forms.gradients import gradient, usual_gradients
from laydown.science.forms.line_targets import Run, hairlines, line_pairs
from laydown.science.forms.page import Box, Element
from laydown.science.forms.page_head import GAP_MM
from laydown.science.forms.ring_target import ring_target
from laydown.science.forms.tints import tint
from laydown.science.forms.tone_steps import End, tone_steps
from laydown.science.forms.type_sample import type_sample
from laydown.science.forms.wave_target import finest_wave, wave_target
from laydown.science.forms.wear_bar import bare_window, wear_bar

Maker = Callable[[float, float], tuple[Element, ...]]
Wanted = Iterator[tuple[str, Iterator[Maker]]]  # names of groups, each with its variants, the widest first
Makes = Callable[[tuple[str, ...]], Wanted]
_NEUTRAL_TINTS = (0.1, 0.3, 0.5, 0.7)
_COLOURED_TINT = 0.5
_FINEST_WAVE = 5.0  # cycles per mm: what is seen at reading distance ends there
_STEPS = ((None, 10.0), (2, 10.0), (2, 6.0), (3, 6.0), (5, 6.0))  # every so many codes, so wide; widest first
_GRADIENT_MM = (150.0, 140.0, 130.0, 120.0, 90.0, 60.0)
_LEAST_BESIDE_MM = 120.0  # shorter ones are drawn only where there is no room for this
_RUNS: tuple[Run, ...] = ("upright", "level", "slanted")
_WEAR_PIECES = (8, 6, 4, 3, 2)


@dataclass(frozen=True, slots=True)
class Group:
    """Elements of one part that lie together: ``make`` puts them at a place, and they take so much room."""

    part: Part
    name: str
    make: Maker
    width_mm: float
    height_mm: float


def part_groups(
    parts: Sequence[Part], *, channels: tuple[str, ...], room_mm: float, ppi: float
) -> tuple[tuple[Group, ...], tuple[str, ...]]:
    """The groups that parts of a form consist of, and what is too wide for the page.

    Parameters
    ----------
    parts : which parts; "length marks" are placed by the page itself and are left out here
    channels : names of the device values
    room_mm : width that a group may take; some come in narrower variants
    ppi : of the printer: waves end where its pixels do

    Returns
    -------
    groups, part by part; sentences about what has no variant that is narrow enough

    Checked against
    ---------------
    Groups drawn at their place stay in it; narrow pages name what they lack.
    """
    makes: dict[Part, Makes] = {
        **_MAKES,
        "waves": partial(_waves, ppi=ppi),
        "gradients": partial(_gradients, room_mm=room_mm),
    }
    groups: list[Group] = []
    lacking: list[str] = []
    for part in parts:
        for name, variants in makes[part](channels) if part in makes else ():
            made = next((one for one in map(_measured, variants) if one[1].width_mm <= room_mm), None)
            if made is None:
                lacking.append(f"{name}: wider than the {room_mm:.0f} mm that the page has room for.")
                continue
            maker, box = made
            groups.append(Group(part, name, maker, box.width_mm, box.height_mm))
    return tuple(groups), tuple(lacking)


def _measured(maker: Maker) -> tuple[Maker, Box]:
    """A maker and what it takes. Elements may begin left of or above where they are told to lie."""
    made = maker(0.0, 0.0)
    box = Box(
        min(one.box.left_mm for one in made),
        min(one.box.top_mm for one in made),
        max(one.box.right_mm for one in made),
        max(one.box.bottom_mm for one in made),
    )

    def shifted(left_mm: float, top_mm: float) -> tuple[Element, ...]:
        return maker(left_mm - box.left_mm, top_mm - box.top_mm)

    return shifted, box


def _edges(channels: tuple[str, ...]) -> Wanted:
    for contrast in CONTRASTS:
        yield f"edges, {contrast}", _one(partial(edge_target, contrast, channels=channels))


def _rings(channels: tuple[str, ...]) -> Wanted:
    for back in (False, True):
        yield "rings", _one(partial(ring_target, channels=channels, reversed_out=back))


def _type(channels: tuple[str, ...]) -> Wanted:
    for back in (False, True):
        yield "type", _one(partial(type_sample, channels=channels, reversed_out=back))


def _bleed(channels: tuple[str, ...]) -> Wanted:
    yield "bleed targets", iter([partial(_made_several, partial(bleed_targets, channels=channels))])


def _waves(channels: tuple[str, ...], *, ppi: float) -> Wanted:
    fine = min(_FINEST_WAVE, finest_wave(ppi))
    yield "waves across", _one(partial(wave_target, channels=channels, fine=fine))
    yield "waves down", _one(partial(wave_target, channels=channels, fine=fine, along="down"))


def _tints(channels: tuple[str, ...]) -> Wanted:
    for share in _NEUTRAL_TINTS:
        yield f"tint {share:.0%}", _one(partial(tint, share, channels=channels))
    for name in _tinted(channels):
        yield f"tint {name}", _one(partial(tint, _COLOURED_TINT, channels=channels, name=name))


def _gradients(channels: tuple[str, ...], *, room_mm: float) -> Wanted:
    """As many side by side as there is room for, then as long as that leaves them."""
    side_by_side = max(int((room_mm + GAP_MM) // (_LEAST_BESIDE_MM + GAP_MM)), 1)
    room = (room_mm + GAP_MM) / side_by_side - GAP_MM
    for each in usual_gradients(channels):
        lengths = (
            partial(gradient, each, channels=channels, length_mm=length)
            for length in _GRADIENT_MM
            if length <= room
        )
        yield f"gradient {each.name}", _each(lengths)


def _tone_steps(channels: tuple[str, ...]) -> Wanted:
    ends: tuple[End, End] = ("shadows", "highlights")
    for end in ends:
        made = (
            partial(tone_steps, end, channels=channels, every=every, step_mm=wide) for every, wide in _STEPS
        )
        yield f"{end.removesuffix('s')} steps", _each(made)


def _wear_bar(channels: tuple[str, ...]) -> Wanted:
    yield "wear bar", _each(partial(wear_bar, channels=channels, pieces=n) for n in _WEAR_PIECES)


def _bare_window(channels: tuple[str, ...]) -> Wanted:
    yield "bare window", _one(partial(bare_window, channels=channels))


def _lines(channels: tuple[str, ...]) -> Wanted:
    for back in (False, True):
        for run in _RUNS[:2]:
            yield f"hairlines, {run}", _one(partial(hairlines, run, channels=channels, reversed_out=back))
        for run in _RUNS:
            yield f"line pairs, {run}", _one(partial(line_pairs, run, channels=channels, reversed_out=back))


def _tinted(channels: tuple[str, ...]) -> tuple[str, ...]:
    """Colours of flat tints beside neutral: a cyan, a magenta and what else the printer has by itself."""
    named = tuple(name for name in known_names(channels) if name in ("C", "M"))
    more = tuple(name for name in channels if name not in ("R", "G", "B", "C", "M", "Y", "K"))
    return named + more


def _one(make: Callable[..., Element]) -> Iterator[Maker]:
    return _each(iter([make]))


def _each(makes: Iterator[Callable[..., Element]]) -> Iterator[Maker]:
    for make in makes:
        yield partial(_made_one, make)


def _made_one(make: Callable[..., Element], left_mm: float, top_mm: float) -> tuple[Element, ...]:
    return (make(left_mm=left_mm, top_mm=top_mm),)


def _made_several(
    make: Callable[..., tuple[Element, ...]], left_mm: float, top_mm: float
) -> tuple[Element, ...]:
    return make(left_mm=left_mm, top_mm=top_mm)


_MAKES: Mapping[Part, Makes] = {
    "edges": _edges,
    "lines": _lines,
    "rings": _rings,
    "type": _type,
    "bleed": _bleed,
    "tints": _tints,
    "tone steps": _tone_steps,
    "wear bar": _wear_bar,
    "bare window": _bare_window,
}
