"""Does the bracket hold the time of rest? Simulated prints that dry by a known law, read with known noise.

    python benchmarks/simulate_drying.py                 300 prints of each setting
    python benchmarks/simulate_drying.py --prints 50     a quick look

Sheets and readings are those of the print model; each patch is off by an amount that shrinks exponentially
(time constant 0.3 to 8 h, 1 to 4 dE76 in full ink at first, less in the lights). Between readings all patches
shift together a little. The time of rest is when what is left of the change, averaged over patches, is as
often seen as missed by this instrument. The table is in ``docs/methods/settling.md``.
"""

from __future__ import annotations

import argparse
from dataclasses import dataclass

import numpy as np

from laydown.kernel.arrays import Floats
from laydown.science.colour import delta_e_2000, lab_from_reflectance
from laydown.science.prints import (
    MATTE_COTTON,
    WAVELENGTHS_NM,
    Noise,
    demonstration_chart,
    print_sheet,
    read_sheet,
    reflectance,
)
from laydown.science.settling import DriftCurve, Repeatability, drift_curve, hidden_change

DIRECTION = np.array([0.8, 0.4, -0.4])
MEAN_OF_THREE = 2.0 * np.sqrt(2.0 / np.pi)  # of the length of three unit normals
PLANS = {
    "0.25, 0.5, 1, 2, 4, 8, 24, 48 h": (0.25, 0.5, 1, 2, 4, 8, 24, 48),
    "0.25, 1, 4, 24, 48 h": (0.25, 1, 4, 24, 48),
    "1, 4, 24, 48 h, each read twice": (1, 1.02, 4, 4.05, 24, 24.1, 48, 48.2),
}
HEAD = (
    "read at",
    "patches",
    "shift",
    "settled, %",
    "bracket holds, %",
    "truth earlier, %",
    "later, %",
    "at rest from the first, %",
)
PATCH, PATCH_SD = 0.07, 0.05  # of the model's readings: mean and SD of dE00 between two


@dataclass(frozen=True, slots=True, eq=False)
class Print:
    """One print: its truth at rest, how far off each patch is at first, and its readings."""

    final: Floats
    move: Floats
    labs: Floats


def make(
    patches: int, hours: Floats, *, tau: float, amount: float, shift: float, rng: np.random.Generator
) -> Print:
    """Print, and read at every hour."""
    chart = demonstration_chart(rng=np.random.default_rng(1))
    device = chart.device_rgb[rng.permutation(len(chart))[:patches]]
    state = print_sheet(patches, noise=Noise(), rng=rng)
    final = lab_from_reflectance(reflectance(device, medium=MATTE_COTTON), wavelengths_nm=WAVELENGTHS_NM)
    move = amount * (1.0 - device.mean(axis=1))[:, None] * DIRECTION
    labs = []
    for hour in hours:
        spectra = read_sheet(device, medium=MATTE_COTTON, sheet_state=state, noise=Noise(), rng=rng)
        common = rng.standard_normal(3) * shift / MEAN_OF_THREE / np.sqrt(2.0)
        read = lab_from_reflectance(spectra, wavelengths_nm=WAVELENGTHS_NM)
        labs.append(read + move * np.exp(-hour / tau) + common)
    return Print(final, move, np.array(labs))


def time_of_rest(made: Print, curve: DriftCurve, *, tau: float) -> float:
    """Age at which what is left of the change is as often seen as missed."""
    seen = hidden_change(float(curve.limit[0]), curve.repeatability, patches=curve.patches.size, chance=0.5)
    low, high = 0.0, 1000.0
    for _ in range(50):
        middle = 0.5 * (low + high)
        left = delta_e_2000(made.final + made.move * np.exp(-middle / tau), made.final).mean()
        low, high = (middle, high) if left > seen else (low, middle)
    return high


def main() -> int:
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("--prints", type=int, default=300, help="of each setting")
    parser.add_argument("--seed", type=int, default=20260131)
    asked = parser.parse_args()
    print("| " + " | ".join(HEAD) + " |")
    print("|" + "---|" * len(HEAD))
    for place, (plan, times) in enumerate(PLANS.items()):
        hours = np.array(times, dtype=np.float64)
        for patches in (8, 24, 100):
            for shift in (0.02, 0.05):
                rng = np.random.default_rng([asked.seed, place, patches, round(1000 * shift)])
                known = None if "twice" in plan else Repeatability(PATCH, PATCH_SD, shift, "known")
                held, early, late, still = [], [], [], []
                for _ in range(asked.prints):
                    tau, amount = float(np.exp(rng.uniform(np.log(0.3), np.log(8.0)))), rng.uniform(1.0, 4.0)
                    made = make(patches, hours, tau=tau, amount=amount, shift=shift, rng=rng)
                    curve = drift_curve(hours, made.labs, repeatability=known)
                    found = curve.settling
                    if found.at_hours is not None and found.after_hours is not None:
                        truth = time_of_rest(made, curve, tau=tau)
                        held.append(found.after_hours <= truth <= found.at_hours)
                        early.append(truth < found.after_hours)
                        late.append(truth > found.at_hours)
                    rest = make(patches, hours, tau=tau, amount=0.0, shift=shift, rng=rng)
                    still.append(
                        drift_curve(hours, rest.labs, repeatability=known).settling.after_hours == 0.0
                    )
                shares = (len(held) / asked.prints, *(np.mean(part) for part in (held, early, late, still)))
                print(
                    f"| {plan} | {patches} | {shift} | " + " | ".join(f"{100 * s:.1f}" for s in shares) + " |"
                )
    return 0


if __name__ == "__main__":
    raise SystemExit(main())
