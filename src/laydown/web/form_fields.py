"""The fields in which a test form is designed: filled from a trial, from a form that was made, or as sent."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from types import MappingProxyType
from typing import Any, get_args
from urllib.parse import urlencode

from starlette.datastructures import FormData, QueryParams

from laydown.kernel.errors import BadSetting
from laydown.records.look import Look
from laydown.report.lengths import length_words
from laydown.science.forms.choose_patches import Question
from laydown.science.forms.form_wish import LONGEST_MM, PARTS, RESOLUTIONS, SCENE_NAMES, WIDEST_MM, FormWish
from laydown.science.forms.patch_set import CMYK, FULL_CODE, RGB
from laydown.science.forms.reader import Reader, ReaderKind, Spacer, usual_reader
from laydown.trials.facts import TrialFacts
from laydown.trials.studio import Studio, Units
from laydown.usecases.forms.form_limits import (
    LARGEST_EDGE_MM,
    LARGEST_PATCH_MM,
    MOST_INKS,
    MOST_PATCHES,
    MOST_SEED,
    check_limits,
)
from laydown.usecases.forms.printable_width import widths_that_fit
from laydown.usecases.forms.trial_pictures import placed_picture
from laydown.web.forms import Form, plain_number

KINDS: tuple[ReaderKind, ...] = get_args(ReaderKind)
SPACERS: tuple[Spacer, ...] = get_args(Spacer)
QUESTIONS: tuple[Question, ...] = get_args(Question)
INKS = ("rgb", "cmyk", "others")
CHANNELS = {"rgb": RGB, "cmyk": CMYK}
TEXTS = (
    "code", "question", "patches", "colours", "kind", "needs_of", "patch_width", "patch_height", "gap",
    "spacer", "longest_row", "row_pitch", "lead_in", "lead_out", "row_marks", "least_contrast", "aperture",
    "label_pt", "ppi", "inks", "ink_names", "ink_limit", "width", "length", "edge", "seed",
)  # fmt: skip
LISTS = ("part", "scene", "own")
_NEEDS = {  # fields about the instrument, and what they are called on the page
    "patch_width": ("patch_width_mm", "The width of a patch"),
    "patch_height": ("patch_height_mm", "The height of a patch"),
    "gap": ("gap_mm", "The gap between patches"),
    "longest_row": ("longest_row_mm", "The longest row"),
    "row_pitch": ("row_pitch_mm", "The distance of rows"),
    "lead_in": ("lead_in_mm", "What stays bare before a row"),
    "lead_out": ("lead_out_mm", "What stays bare after a row"),
    "aperture": ("aperture_mm", "What the instrument sees at once"),
}
_SIGN_OF_PICTURE = 12  # of the 64 signs of a hash: tells a handful of pictures apart
_HEX = re.compile(r"#([0-9a-fA-F]{6})\Z")
_PART = re.compile(r"[\s,;/]+")
_USUAL_EDGE_MM = FormWish(code="").edge_mm
_EDGE_OF_PRINTABLE_MM = 2.0  # where the page holds only what can be printed, its edge is bare already


@dataclass(frozen=True, slots=True)
class DesignFields:
    """The fields as they are typed. ``ppi_of`` is typed for pictures by the first signs of their hash."""

    texts: Mapping[str, str]
    lists: Mapping[str, tuple[str, ...]]
    ppi_of: Mapping[str, str]

    @property
    def query(self) -> str:
        """The design as it stands in an address."""
        told = [(name, self.texts[name]) for name in TEXTS if self.texts[name]]
        told += [(name, value) for name in LISTS for value in self.lists[name]]
        told += [(f"ppi-{sign}", value) for sign, value in self.ppi_of.items() if value]
        return urlencode(told)

    def with_own(self, sha256s: Iterable[str]) -> DesignFields:
        """With further pictures ticked."""
        own = tuple(dict.fromkeys((*self.lists["own"], *sha256s)))
        return replace(self, lists=MappingProxyType({**self.lists, "own": own}))


def sign_of(sha256: str) -> str:
    """What tells a picture from the others of a trial."""
    return sha256[:_SIGN_OF_PICTURE]


def fields_of_trial(facts: TrialFacts, *, code: str) -> DesignFields:
    """A form to begin with: what usually is wanted, as wide as what the candidates are printed on."""
    wish, units = _usual_wish(facts, code), facts.studio.units
    fields = fields_of_wish(wish, code=code, units=units)
    sizes = {"width": length_words(wish.width_mm, units=units)}
    if wish.length_mm:
        sizes["length"] = length_words(wish.length_mm, units=units)
    return replace(fields, texts=MappingProxyType({**fields.texts, **sizes}))


def _usual_wish(facts: TrialFacts, code: str) -> FormWish:
    """As large as can be printed on what every candidate is printed on, at the printer's own resolution."""
    usual, fits = FormWish(code=code), widths_that_fit(facts)
    taking_part = [one for one in facts.candidates if one.withdrawn_at is None]
    set_to = {one.recipe.resolution_ppi for one in taking_part}
    known = fits.width_mm is not None
    return replace(
        usual,
        width_mm=_whole(fits.width_mm, WIDEST_MM.value) or usual.width_mm,
        length_mm=_whole(fits.length_mm, LONGEST_MM.value),
        edge_mm=_EDGE_OF_PRINTABLE_MM if known else usual.edge_mm,
        ppi=next((one for one in RESOLUTIONS if set_to == {float(one)}), usual.ppi),
    )


def _whole(length_mm: float | None, most_mm: float) -> float | None:
    """A length in whole mm, so that no rounding makes it larger than what can be printed."""
    return None if length_mm is None else float(min(length_mm, most_mm) // 1.0)


def fields_of_wish(wish: FormWish, *, code: str, units: Units) -> DesignFields:
    """The fields of a form that was made, for another like it under a code of its own."""
    inks = next((name for name, channels in CHANNELS.items() if channels == wish.channels), "others")
    texts = {
        "code": code,
        "question": wish.question,
        "patches": str(wish.patches),
        "colours": "\n".join(" ".join(map(str, colour)) for colour in wish.own_colours),
        **_texts_of_reader(wish.reader),
        "ppi": str(wish.ppi),
        "inks": inks,
        "ink_names": " ".join(wish.channels) if inks == "others" else "",
        "ink_limit": plain_number(100.0 * wish.ink_limit) if wish.ink_limit else "",
        "width": _exact_length(wish.width_mm, units),
        "length": _exact_length(wish.length_mm, units) if wish.length_mm else "",
        "edge": plain_number(wish.edge_mm),
        "seed": str(wish.seed),
    }
    lists = {
        "part": tuple(wish.parts),
        "scene": tuple(wish.scenes),
        "own": tuple(one.sha256 for one in wish.pictures),
    }
    return DesignFields(MappingProxyType(texts), MappingProxyType(lists), MappingProxyType({}))


def fields_sent(sent: QueryParams | FormData) -> tuple[DesignFields, str]:
    """The fields as they were sent, and what was altered in them, "" where nothing was.

    Where another instrument was chosen, its usual needs take the place of the other's.
    """
    form = Form(FormData([(name, value) for name, value in sent.multi_items()]))
    texts = form.texts(TEXTS)
    lists = {name: tuple(dict.fromkeys(filter(None, form.many(name)))) for name in LISTS}
    ppi_of = {sign_of(one): form.text(f"ppi-{sign_of(one)}") for one in lists["own"]}
    said = ""
    kind = next((one for one in KINDS if one == texts["kind"]), None)
    if kind is not None and texts["needs_of"] != kind:
        texts |= _texts_of_reader(usual_reader(kind))
        said = (
            f"The usual needs of a {KIND_WORDS[kind]} were filled in, since another instrument stood there. "
            "Look them through: its manual knows better."
        )
    return DesignFields(MappingProxyType(texts), MappingProxyType(lists), MappingProxyType(ppi_of)), said


KIND_WORDS: dict[ReaderKind, str] = {
    "spot": "spot reader",
    "strip": "strip reader",
    "scanner": "flatbed scanner",
}


def ink_limit_of(fields: DesignFields) -> float | None:
    """The most ink a patch may have, 1 for each full ink; None where no limit was typed.

    Raises
    ------
    BadSetting
        It is no such number.
    """
    form = Form(FormData(list(fields.texts.items())))
    per_cent = form.number("ink_limit", "The ink limit", low=100, high=100 * MOST_INKS.value)
    return None if per_cent is None else per_cent / 100.0


def wish_of(fields: DesignFields, look: Look, trial_id: str, *, studio: Studio) -> FormWish:
    """What the fields ask for.

    Raises
    ------
    BadSetting
        A field says something that cannot be.
    UnreadableFile
        A picture of the studio's own cannot be read.
    """
    form = Form(FormData(list(fields.texts.items())))
    channels = channels_of(fields)
    whole = form.whole("patches", "The number of patches", low=1, high=int(MOST_PATCHES.value))
    width = form.length("width", "The width of the page", studio=studio)
    if whole is None or width is None:
        missing = "the number of patches" if whole is None else "the width of the page"
        raise BadSetting(f"{missing} is missing.", todo="Fill it in.")
    edge = form.number("edge", "The bare edge", low=0, high=LARGEST_EDGE_MM.value)
    question = form.choice("question", QUESTIONS, "What it must answer")
    ppi = form.choice("ppi", [str(one) for one in RESOLUTIONS], "The printer's own resolution")
    for name, known in (("part", PARTS), ("scene", SCENE_NAMES)):
        for one in fields.lists[name]:
            if one not in known:
                raise BadSetting(f'there is no {name} "{one[:40]}".', todo="Open the page again.")
    wish = FormWish(
        code=fields.texts["code"].upper(),
        channels=channels,
        question=next(one for one in QUESTIONS if one == question),
        patches=whole,
        own_colours=colours_of(fields.texts["colours"], channels),
        ink_limit=ink_limit_of(fields),
        reader=_reader_of(form),
        width_mm=width,
        length_mm=form.length("length", "The length of the page", studio=studio),
        edge_mm=_USUAL_EDGE_MM if edge is None else edge,
        ppi=int(ppi),
        parts=tuple(one for one in PARTS if one in fields.lists["part"]),
        scenes=tuple(one for one in SCENE_NAMES if one in fields.lists["scene"]),
        pictures=tuple(
            placed_picture(look, trial_id, one, ppi=_ppi_of(fields, one)) for one in fields.lists["own"]
        ),
        seed=form.whole("seed", "The seed", low=0, high=MOST_SEED) or 0,
    )
    check_limits(wish)
    return wish


def channels_of(fields: DesignFields) -> tuple[str, ...]:
    """The channels that are named.

    Raises
    ------
    BadSetting
        None are.
    """
    inks = fields.texts["inks"]
    if inks in CHANNELS:
        return CHANNELS[inks]
    names = tuple(one.upper() for one in _PART.split(fields.texts["ink_names"]) if one)
    if not names:
        raise BadSetting("the inks are not named.", todo="Name them in order, such as C M Y K O G.")
    return names


def colours_of(text: str, channels: Sequence[str]) -> tuple[tuple[int, ...], ...]:
    """Critical colours, one on a line: codes 0 to 255, percent of ink, or #hex for RGB.

    Raises
    ------
    BadSetting
        Names the line that says no colour.
    """
    found = []
    for number, line in enumerate(text.splitlines(), start=1):
        said = line.rpartition(":")[2].strip()  # what stands before a colon is a name for people
        if not said:
            continue
        code = _colour(said)
        if code is None or len(code) != len(channels) or not all(0 <= one <= FULL_CODE for one in code):
            raise BadSetting(
                f'line {number} of your critical colours, "{line.strip()[:60]}", is no colour in '
                f"{' '.join(channels)}.",
                todo=f"Give {len(channels)} whole numbers from 0 to {FULL_CODE}, or with a % sign each.",
            )
        found.append(code)
    return tuple(dict.fromkeys(found))


def _colour(said: str) -> tuple[int, ...] | None:
    if hexed := _HEX.match(said):
        return tuple(bytes.fromhex(hexed[1]))
    codes = []
    for part in _PART.split(said.replace(" %", "%").strip("()")):
        try:
            value = float(part.removesuffix("%"))
            if part.endswith("%"):
                value = round(value * FULL_CODE / 100.0)
            if value != int(value):
                return None
            codes.append(int(value))
        except (ValueError, OverflowError):
            return None
    return tuple(codes)


def _ppi_of(fields: DesignFields, sha256: str) -> float | None:
    form = Form(FormData([("ppi", fields.ppi_of.get(sign_of(sha256), ""))]))
    return form.number("ppi", "Pixels per inch of your own picture", low=10, high=10_000)


def _reader_of(form: Form) -> Reader:
    said = form.choice("kind", KINDS, "The instrument")
    usual = usual_reader(next(one for one in KINDS if one == said))
    most = LARGEST_PATCH_MM.value
    told: dict[str, Any] = {}
    for name, (field, words) in _NEEDS.items():
        high = WIDEST_MM.value if name == "longest_row" else most
        value = form.number(name, words, low=0, high=high)
        told[field] = value if value is not None else None if name == "longest_row" else getattr(usual, field)
    contrast = form.number("least_contrast", "The least contrast", low=0, high=1)
    label = form.number("label_pt", "The size of row labels", low=3, high=24)
    spacer = form.choice("spacer", SPACERS, "What lies between patches")
    return replace(
        usual,
        **told,
        spacer=next(one for one in SPACERS if one == spacer),
        row_marks=form.flag("row_marks"),
        least_contrast=usual.least_contrast if contrast is None else contrast,
        label_pt=usual.label_pt if label is None else label,
    )


def _texts_of_reader(reader: Reader) -> dict[str, str]:
    sizes = {name: getattr(reader, field) for name, (field, _) in _NEEDS.items()}
    return {
        "kind": reader.kind,
        "needs_of": reader.kind,
        **{name: "" if size is None else plain_number(size) for name, size in sizes.items()},
        "spacer": reader.spacer,
        "row_marks": "on" if reader.row_marks else "",
        "least_contrast": plain_number(reader.least_contrast),
        "label_pt": plain_number(reader.label_pt),
    }


def _exact_length(mm: float, units: Units) -> str:
    """A length in the studio's units where those say it exactly, so that a variant is no other size."""
    words = length_words(mm, units=units)
    value, unit = words.split()
    exact = float(value) * (25.4 if unit == "in" else 1.0)
    return words if abs(exact - mm) < 0.05 else f"{plain_number(mm)} mm"
