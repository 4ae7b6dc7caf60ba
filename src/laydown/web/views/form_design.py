"""The page on which a test form is designed: its fields, and what would be made of them."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime

from laydown.kernel.errors import BadSetting
from laydown.report.foretold_words import CAUTION, ForetoldLine, foretold_basis, foretold_lines, one_medium
from laydown.report.lengths import length_words
from laydown.science.findings.form_precision import Told
from laydown.science.findings.form_presses import KNOWN_INKS
from laydown.science.forms.choose_patches import Question
from laydown.science.forms.form_wish import PART_WORDS, PARTS, RESOLUTIONS, SCENE_NAMES, SceneName
from laydown.science.forms.identity import INSTRUCTIONS
from laydown.science.forms.patch_set import Role
from laydown.science.forms.reader import ReaderKind, Spacer
from laydown.trials.facts import TrialFacts
from laydown.trials.studio import Units
from laydown.usecases.forms.draft_form import FormDraft
from laydown.usecases.forms.foretell_sizes import ForetoldSize, foretell_sizes
from laydown.usecases.forms.printable_width import widths_that_fit
from laydown.usecases.forms.trial_pictures import TrialPicture
from laydown.web.form_fields import (
    KIND_WORDS,
    KINDS,
    QUESTIONS,
    SPACERS,
    DesignFields,
    channels_of,
    ink_limit_of,
    sign_of,
)
from laydown.web.views.trial_frame import TrialFrame, trial_frame

QUESTION_WORDS: Mapping[Question, str] = {
    "everything": "everything",
    "gamut": "which colours can be printed",
    "tone": "black, greys and tones",
    "evenness": "evenness of a sheet",
}
SPACER_WORDS: Mapping[Spacer, str] = {
    "none": "nothing: patches touch",
    "white": "bare medium",
    "black": "black",
    "contrast": "bare or black, whichever differs more",
}
SCENE_WORDS: Mapping[SceneName, str] = {
    "skin": "skin-like tones",
    "foliage": "foliage",
    "sky": "sky",
    "fabric": "fabric",
    "metal": "metal",
    "night": "night and deep shadows",
}
ROLE_WORDS: Mapping[Role, str] = {
    "control": "control strip, the same on every form for ever",
    "own": "your own critical colours",
    "surface": "surface of what can be printed",
    "neutral": "greys, finer near black and white",
    "near black": "search for the deepest black",
    "primary": "single inks and pairs of inks",
    "anchor": "repeats over the page, for evenness",
}
SIZE_FINDINGS: tuple[Told, ...] = ("gamut_volume", "dmax_visual", "neutral_l", "grey_balance")
SIZE_HEADS = ("Gamut volume", "Dmax", "Greys", "Grey balance")
USUAL_SHEETS = 3


@dataclass(frozen=True, slots=True)
class SizeLine:
    """A usual number of patches and how far off each finding may be; "–" where it is not told."""

    patches: int
    chosen: bool
    told: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class PictureLine:
    """A picture of the studio's own that may be placed; ``ppi`` as typed."""

    name: str
    sha256: str
    sign: str
    ticked: bool
    ppi: str


@dataclass(frozen=True, slots=True)
class LookedPage:
    """A page as it would be. ``wide`` and ``high`` keep its place until the preview arrives."""

    name: str
    use: str
    size: str
    patches: int
    instruction: str
    preview: str
    wide: int
    high: int


@dataclass(frozen=True, slots=True)
class LookedAt:
    """What would be made of the fields. ``query`` is what "make" sends, exactly what is shown."""

    code: str
    query: str
    pages: tuple[LookedPage, ...]
    patches: int
    roles: tuple[tuple[str, int], ...]
    arranged: str
    alike: str
    left_out: tuple[str, ...]
    doubts: tuple[str, ...]
    too_large: tuple[str, ...]
    lines: tuple[ForetoldLine, ...]
    basis: str
    caution: str
    no_forecast: str


@dataclass(frozen=True, slots=True)
class FormDesignView:
    """The fields, choices for them, and what was looked at; None before that."""

    frame: TrialFrame
    trial_id: str
    texts: Mapping[str, str]
    parts: tuple[tuple[str, str, bool], ...]
    scenes: tuple[tuple[str, str, bool], ...]
    pictures: tuple[PictureLine, ...]
    questions: tuple[tuple[str, str], ...]
    kinds: tuple[tuple[str, str], ...]
    spacers: tuple[tuple[str, str], ...]
    resolutions: tuple[tuple[str, str], ...]
    known_inks: str
    sizes: tuple[SizeLine, ...]
    size_heads: tuple[str, ...]
    sizes_basis: str
    unit: str
    looked: LookedAt | None
    said: str
    refusal: str


def form_design_view(
    facts: TrialFacts,
    fields: DesignFields,
    pictures: Sequence[TrialPicture],
    *,
    now: datetime,
    draft: FormDraft | None = None,
    said: str = "",
    refusal: str = "",
) -> FormDesignView:
    """The page for a trial."""
    sizes = _sizes(fields, planned_sheets(facts))
    kinds: dict[ReaderKind, str] = {kind: KIND_WORDS[kind] for kind in KINDS}
    return FormDesignView(
        frame=trial_frame(facts, now=now, here="plan"),
        trial_id=facts.trial.id,
        texts=fields.texts,
        parts=tuple((one, PART_WORDS[one], one in fields.lists["part"]) for one in PARTS),
        scenes=tuple((one, SCENE_WORDS[one], one in fields.lists["scene"]) for one in SCENE_NAMES),
        pictures=tuple(
            PictureLine(
                one.name,
                one.sha256,
                sign_of(one.sha256),
                one.sha256 in fields.lists["own"],
                fields.ppi_of.get(sign_of(one.sha256), ""),
            )
            for one in pictures
        ),
        questions=tuple((one, QUESTION_WORDS[one]) for one in QUESTIONS),
        kinds=tuple(kinds.items()),
        spacers=tuple((one, SPACER_WORDS[one]) for one in SPACERS),
        resolutions=tuple((str(one), f"{one} ppi") for one in RESOLUTIONS),
        known_inks=", ".join(KNOWN_INKS),
        sizes=tuple(_size_line(one, fields) for one in sizes),
        size_heads=SIZE_HEADS,
        sizes_basis=next(
            (foretold_basis(one.precision, patches=False) for one in sizes if one.precision), ""
        ),
        unit="in" if facts.studio.units == "inch" else "mm",
        looked=_looked_at(draft, fields, facts) if draft else None,
        said=said,
        refusal=refusal,
    )


def planned_sheets(facts: TrialFacts) -> int:
    """How many sheets of each medium are planned, or usual."""
    return facts.plan.sheets_per_candidate if facts.plan else USUAL_SHEETS


def page_size(width_mm: float, length_mm: float, units: Units) -> str:
    """Such as "432 x 660 mm"; both systems, since printers' programs ask for either."""
    other: Units = "metric" if units == "inch" else "inch"
    here, elsewhere = (
        f"{length_words(width_mm, units=one)} x {length_words(length_mm, units=one)}"
        for one in (units, other)
    )
    return f"{here} ({elsewhere})"


def _sizes(fields: DesignFields, sheets: int) -> tuple[ForetoldSize, ...]:
    question = next((one for one in QUESTIONS if one == fields.texts["question"]), QUESTIONS[0])
    kind = next((one for one in KINDS if one == fields.texts["kind"]), KINDS[0])
    try:
        found = foretell_sizes(
            channels_of(fields), question, kind, sheets=sheets, ink_limit=ink_limit_of(fields)
        )
    except BadSetting:  # inks that are not named yet
        return ()
    return found if any(one.precision for one in found) else ()


def _size_line(size: ForetoldSize, fields: DesignFields) -> SizeLine:
    told = (one_medium(size.precision, name) if size.precision else "" for name in SIZE_FINDINGS)
    chosen = fields.texts["patches"] == str(size.patches)
    return SizeLine(size.patches, chosen, tuple(words or "–" for words in told))


def _looked_at(draft: FormDraft, fields: DesignFields, facts: TrialFacts) -> LookedAt:
    home = f"/trials/{facts.trial.id}/form/design/preview?{fields.query}"
    return LookedAt(
        code=draft.wish.code,
        query=fields.query,
        pages=tuple(
            LookedPage(
                name=one.name,
                use=one.use,
                size=page_size(one.width_mm, one.length_mm, facts.studio.units),
                patches=one.patches,
                instruction=INSTRUCTIONS[one.use],
                preview=f"{home}&page={one.name}",
                wide=round(one.width_mm),
                high=round(one.length_mm),
            )
            for one in draft.pages
        ),
        patches=sum(draft.roles.values()),
        roles=tuple((ROLE_WORDS[role], count) for role, count in draft.roles.items()),
        arranged=f"{draft.rows} rows of up to {draft.columns}",
        alike=_alike(draft.alike),
        left_out=draft.left_out,
        doubts=draft.doubts,
        too_large=_too_large(draft, facts),
        lines=foretold_lines(draft.precision) if draft.precision else (),
        basis=foretold_basis(draft.precision) if draft.precision else "",
        caution=CAUTION,
        no_forecast=draft.precision_missing[:1].upper() + draft.precision_missing[1:],
    )


def _too_large(draft: FormDraft, facts: TrialFacts) -> tuple[str, ...]:
    """On which candidates a page cannot be printed; each said once."""
    fits = widths_that_fit(facts)
    said = (one for page in draft.pages for one in fits.refusals(page.width_mm, page.length_mm))
    return tuple(dict.fromkeys(said))


def _alike(count: int) -> str:
    if not count:
        return ""
    two = "Two neighbouring patches are" if count == 1 else f"{count} pairs of neighbouring patches are"
    return (
        f"{two} so alike that a strip reader may take them for one. Put spacers between patches, under the "
        "instrument's needs, or choose another seed."
    )
