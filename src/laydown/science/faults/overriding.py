"""Lays a studio's own faults over those that come with Laydown, and asks that the whole makes sense."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import replace
from typing import TypeVar

from laydown.kernel.errors import BadSetting
from laydown.science.faults.model import Bearing, FaultModel

Value = TypeVar("Value")


def with_overrides(model: FaultModel, studio_model: FaultModel) -> FaultModel:
    """Lay one model over another; where both say something, the second is believed.

    A symptom, cause or check of the same id is replaced where it stands, a new one is added at the end.
    Priors, leaks, links and bearings are replaced one number at a time, so that a studio can change one and
    keep the rest. A link of 0 takes the link away.

    Parameters
    ----------
    model : FaultModel
        The model below, as a rule the packaged one; it may be a part.
    studio_model : FaultModel
        The model above.

    Returns
    -------
    FaultModel
        A whole model, ready to rank with.

    Raises
    ------
    BadSetting
        The result would not be whole: a number names an id that nothing describes, or a symptom lacks its
        leak, a cause its prior or links, a check its bearings. The message names the file and the entry.

    Checked against
    ---------------
    Each number changed on its own, and each kind of gap, planted (``test_fault_overrides.py``).
    """
    unheard = sorted(set(studio_model.speaks) - set(model.speaks))
    if unheard:
        raise BadSetting(
            f'"speaks" names "{unheard[0]}", which is no evidence that Laydown looks for.',
            todo=f"It looks for: {', '.join(model.speaks) or 'none'}.",
            file=studio_model.file,
        )
    laid = joined(model, studio_model)
    refuse_gaps(laid)
    own = tuple(dict.fromkeys((*model.own, *_named(studio_model))))
    return replace(laid, own=own)


def joined(below: FaultModel, above: FaultModel) -> FaultModel:
    """One model over another, whole or not.

    Parameters
    ----------
    below, above : FaultModel
        Parts of a model; where both say something, ``above`` is believed.

    Returns
    -------
    FaultModel
        Both together, under the file name of ``above``.

    Checked against
    ---------------
    Each number changed on its own (``test_fault_overrides.py``).
    """
    return FaultModel(
        symptoms={**below.symptoms, **above.symptoms},
        causes={**below.causes, **above.causes},
        checks={**below.checks, **above.checks},
        priors={**below.priors, **above.priors},
        leaks={**below.leaks, **above.leaks},
        links={
            cause: {symptom: chance for symptom, chance in effects.items() if chance > 0.0}
            for cause, effects in _nested(below.links, above.links).items()
        },
        bearings=_bearings(below.bearings, above.bearings),
        speaks=_nested(below.speaks, above.speaks),
        file=above.file,
        numbers_from=below.numbers_from or above.numbers_from,
        own=below.own,
    )


def _nested(
    below: Mapping[str, Mapping[str, Value]], above: Mapping[str, Mapping[str, Value]]
) -> dict[str, dict[str, Value]]:
    return {key: {**below.get(key, {}), **above.get(key, {})} for key in dict.fromkeys((*below, *above))}


def _bearings(below: Mapping[str, Bearing], above: Mapping[str, Bearing]) -> dict[str, Bearing]:
    yes = _nested(
        {check: bearing.yes_if for check, bearing in below.items()},
        {check: bearing.yes_if for check, bearing in above.items()},
    )
    return {check: Bearing((above.get(check) or below[check]).otherwise, yes[check]) for check in yes}


def _named(model: FaultModel) -> Iterable[str]:
    """Every number a model gives, as it is named in ``FaultModel.own``."""
    yield from (f"prior of {cause}" for cause in model.priors)
    yield from (f"leak of {symptom}" for symptom in model.leaks)
    for cause, effects in model.links.items():
        yield from (f"link from {cause} to {symptom}" for symptom in effects)
    for check, bearing in model.bearings.items():
        yield from (f"bearing of {check} on {cause}" for cause in bearing.yes_if)
    for known, ratios in model.speaks.items():
        yield from (f"what {known} says of {cause}" for cause in ratios)


def refuse_gaps(model: FaultModel) -> None:
    """Refuse a model that is not whole.

    Parameters
    ----------
    model : FaultModel
        Any model.

    Returns
    -------
    None
        Every id that is used is described, and every entry has its numbers.

    Raises
    ------
    BadSetting
        Naming the first gap.

    Checked against
    ---------------
    Each kind of gap, planted (``test_fault_overrides.py``).
    """
    causes, symptoms, checks = set(model.causes), set(model.symptoms), set(model.checks)
    linked = {symptom for effects in model.links.values() for symptom in effects}
    borne = {cause for bearing in model.bearings.values() for cause in bearing.yes_if}
    told_of = {cause for ratios in model.speaks.values() for cause in ratios}
    for told, known, part, kind in (
        (model.priors, causes, "priors", "causes"),
        (model.links, causes, "links", "causes"),
        (borne, causes, "bearings", "causes"),
        (told_of, causes, "speaks", "causes"),
        (model.leaks, symptoms, "leaks", "symptoms"),
        (linked, symptoms, "links", "symptoms"),
        (model.bearings, checks, "bearings", "checks"),
    ):
        strangers = sorted(set(told) - known)
        if strangers:
            raise BadSetting(
                f'"{part}" names "{strangers[0]}", and nothing in "{kind}" has that id.',
                todo=f'Correct the spelling, or describe it under "{kind}".',
                file=model.file,
            )
    with_links = {cause for cause, effects in model.links.items() if effects}
    with_bearings = {check for check, bearing in model.bearings.items() if bearing.yes_if}
    for entries, has, what, part in (
        (causes, set(model.priors), "no prior", "priors"),
        (causes, with_links, "no symptom that it brings about", "links"),
        (symptoms, set(model.leaks), "no leak", "leaks"),
        (checks, with_bearings, "no cause that it speaks about", "bearings"),
    ):
        lacking = sorted(entries - has)
        if lacking:
            raise BadSetting(f'"{lacking[0]}" has {what}.', todo=f'Add it under "{part}".', file=model.file)
