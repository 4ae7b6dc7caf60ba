"""How much each finding varies between sheets of one medium, for planning a trial before any sheet exists."""

from __future__ import annotations

import math
from collections.abc import Mapping

from laydown.kernel.constants import Constant
from laydown.kernel.errors import BadSetting
from laydown.science.findings.catalogue import METRICS

SHARE = "of the value"
_DERIVED = (
    "planning value: SD between sheets printed in one go, root mean square over 1000 simulated sheets of "
    "each of four invented media, benchmarks/derive_planning_spreads.py"
)
_OWN = "the studio's own earlier trials"

# In the finding's unit, or as a share of its value where its margin is a share; see docs/methods/planning.md.
_SIMULATED = {
    "white_l": 0.081,
    "white_a": 0.027,
    "white_b": 0.063,
    "whiteness_cie": 0.32,
    "tint_cie": 0.053,
    "r457": 0.21,
    "yellowness_e313": 0.13,
    "brightener_db": 0.019,
    "brightener_dr457": 0.084,
    "opacity": 0.09,
    "black_l": 0.15,
    "black_c": 0.068,
    "dmax_visual": 0.0096,
    "dmax_status_t": 0.0098,
    "ink_limit_hook": 0.0014,
    "gamut_volume": 0.0043,
    "gamut_reds": 0.0059,
    "gamut_yellows": 0.0043,
    "gamut_greens": 0.0053,
    "gamut_cyans": 0.004,
    "gamut_blues": 0.0045,
    "gamut_magentas": 0.005,
    "tone_reversal": 0.071,
    "shadow_steps_lost": 0.6,
    "highlight_steps_lost": 0.29,
    "grey_balance": 0.038,
    "repeat_mcdm": 0.012,
}


def planning_spreads(own: Mapping[str, float] | None = None) -> dict[str, Constant]:
    """SD between sheets of every judged finding: the studio's own where it has one, else a planning value.

    Only for planning. Planning values come from a model of printing and from sheets printed in one go; prints
    made on several days vary more. A studio that has run one trial knows better: hand in its own.

    Parameters
    ----------
    own : mapping of str to float, optional
        SD between sheets by finding id, in the finding's unit; as a share of the value for findings whose
        margin is a share of it. A value below what the finding's resolution lets one believe is raised to
        that; a share of 0, which no resolution mends, leaves the planning value in place.

    Returns
    -------
    dict of str to Constant
        By the ids of ``METRICS`` that are judged, in that order. The unit is the finding's, or ``SHARE``; the
        source says whether it is a planning value or the studio's own.

    Raises
    ------
    BadSetting
        An id that no judged finding has, or a spread that is no number from 0.

    Checked against
    ---------------
    A fresh, smaller run of the derivation; hand-set own values.
    """
    given = own or {}
    for name, value in given.items():
        if name not in _SIMULATED:
            raise BadSetting(
                f"A spread is given for {name!r}, which is no finding that is judged.",
                todo=f"Use one of: {', '.join(_SIMULATED)}.",
            )
        if not (math.isfinite(value) and value >= 0.0):
            raise BadSetting(
                f"The spread of {name} is {value}.", todo="Give a standard deviation of 0 or more."
            )
    return {name: _spread(name, given.get(name)) for name in _SIMULATED}


def _spread(name: str, own: float | None) -> Constant:
    metric = METRICS[name]
    unit = SHARE if metric.margin_is_relative else metric.unit
    # How large a share the resolution is depends on the value, which is not known before the trial.
    least = 0.0 if metric.margin_is_relative else metric.resolution / math.sqrt(12.0)
    if own is None or max(own, least) == 0.0:
        return Constant(_SIMULATED[name], unit, _DERIVED, "computed")
    return Constant(max(own, least), unit, _OWN, "computed")
