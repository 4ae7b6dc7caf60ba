"""A forecast is told with unit, condition and number, and never as more than a forecast."""

from __future__ import annotations

from laydown.report.foretold_words import foretold_basis, foretold_lines, one_medium
from laydown.science.findings.form_precision import Foretold, FormPrecision, Told


def told(finding: Told, medium: str, *, truth: float, bias: float, deviation: float) -> Foretold:
    unit = {"gamut_volume": "Lab units cubed", "dmax_visual": "D"}[finding]
    return Foretold(medium, finding, unit, truth, bias, deviation, 0.0)


PRECISION = FormPrecision(
    patches=400,
    sheets=3,
    rounds=12,
    condition="M1, white backing, D50/2°",
    gamut_from="hull",
    gamut_truth="hull",
    foretold=(
        told("gamut_volume", "A", truth=500_000.0, bias=-2000.0, deviation=500.0),
        told("gamut_volume", "B", truth=100_000.0, bias=1000.0, deviation=500.0),
        told("dmax_visual", "A", truth=1.7, bias=0.0, deviation=0.0),
        told("dmax_visual", "B", truth=2.0, bias=-0.004, deviation=0.003),
    ),
)


def test_the_medium_told_worst_counts_with_bias_and_twice_its_deviation() -> None:
    gamut, dmax = foretold_lines(PRECISION)
    # B: (1000 + 2 x 500) / 100 000; of A it is (2000 + 2 x 500) / 500 000 = 0.6 %.
    assert (gamut.label, gamut.one) == ("Gamut volume, an upper bound", "2 %")
    # Biases 3000 apart, and twice the root of 500² + 500²: 4414 of 100 000.
    assert gamut.two == "4.4 %"
    assert dmax.one == "0.01 D"
    assert dmax.two == "0.01 D"
    assert one_medium(PRECISION, "grey_balance") == ""


def test_what_it_rests_on_is_said() -> None:
    said = foretold_basis(PRECISION)
    for part in ("3 sheets of each medium", "M1, white backing", "400 patches", "2 invented model media",
                 "simulated, 12 sheets of each", "19 trials of 20", "within about 21 %"):  # fmt: skip
        assert part in said
    assert "400 patches" not in foretold_basis(PRECISION, patches=False)
