"""The smallest things that make a model of faults."""

from __future__ import annotations

from collections.abc import Callable, Mapping

import pytest

from laydown.science.faults import Bearing, Cause, Check, FaultModel, Symptom, packaged_faults

Build = Callable[..., FaultModel]


def small_model(
    *,
    priors: Mapping[str, float],
    links: Mapping[str, Mapping[str, float]],
    leaks: Mapping[str, float],
    bearings: Mapping[str, tuple[float, Mapping[str, float]]] | None = None,
) -> FaultModel:
    """A model with these numbers and words that do not matter."""
    told = bearings or {}
    return FaultModel(
        symptoms={s: Symptom(s, f"Symptom {s}", "Seen.", "tone", "", "made up") for s in leaks},
        causes={c: Cause(c, f"Cause {c}", "It is.", "printer", ("Mend it.",), "made up") for c in priors},
        checks={c: Check(c, f"Is it {c}?", "Look.", 2.0, "nothing", "made up") for c in told},
        priors=priors,
        leaks=leaks,
        links=links,
        bearings={check: Bearing(otherwise, yes) for check, (otherwise, yes) in told.items()},
        speaks={},
        file="made-up.json",
        numbers_from="made up",
    )


@pytest.fixture(scope="session")
def build_model() -> Build:
    return small_model


@pytest.fixture(scope="session")
def faults() -> FaultModel:
    return packaged_faults()
