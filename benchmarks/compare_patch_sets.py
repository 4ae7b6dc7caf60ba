"""Which patches tell the gamut best? Sets of about 400, on model media and on a measured chart.

    python benchmarks/compare_patch_sets.py                          the table of docs/methods/patch-sets.md
    python benchmarks/compare_patch_sets.py --data ../shared/data    and measured charts, where they are
    python benchmarks/compare_patch_sets.py --bends                  how the bend of the levels was chosen
    python benchmarks/compare_patch_sets.py --foretell               what forms of each size will tell

No noise: what is compared is how far each set's volume lies from that of a surface of 33 levels, on the same
perfect print. Levels were placed on 24 media drawn with one seed; the table is of the four media of the model
and of 24 drawn with another. Their tone curves, inks and limits are drawn from wide ranges, wider than prints
are. The measured charts took no part in choosing; device values they do not hold are interpolated.
"""

from __future__ import annotations

import argparse
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np

from laydown.kernel.arrays import Floats
from laydown.science.colour import lab_from_reflectance
from laydown.science.findings.form_precision import FORETELLING_MEDIA, foretell_precision
from laydown.science.findings.reduction import reduce_readings
from laydown.science.forms.choose_patches import choose_patches
from laydown.science.forms.patch_levels import placed_levels
from laydown.science.forms.patch_surfaces import surface_patches
from laydown.science.gamut import average_by_colour, device_surface, hull_volume, unique_colours, volume
from laydown.science.prints import INVENTED_INKS, WAVELENGTHS_NM, InkSet, Medium, reflectance
from laydown.science.readings import read_measurements

RGB = ("R", "G", "B")
CHOOSING_SEED, HELD_BACK_SEED, RANDOM_SETS = 11, 12, 5
CHARTS = ("chart-2033-M0.txt", "chart-3190-M0.txt")
Print = Callable[[Floats], Floats]  # device values (n, 3) to Lab (n, 3)


@dataclass(frozen=True)
class DrawnMedium:
    """A medium, its inks, and the tone curve of a driver: light to the power, then levelling off."""

    medium: Medium
    inks: InkSet
    power: Floats
    levelling: Floats

    def __call__(self, device: Floats) -> Floats:
        ink = (1.0 - device) ** self.power
        ink = (1.0 - np.exp(-self.levelling * ink)) / (1.0 - np.exp(-self.levelling))
        spectra = reflectance(1.0 - ink, medium=self.medium, ink_set=self.inks)
        return np.asarray(lab_from_reflectance(spectra, wavelengths_nm=WAVELENGTHS_NM))


def drawn_media(seed: int, count: int = 24) -> list[Print]:
    """Media of every kind, with inks and drivers of every habit."""
    rng = np.random.default_rng(seed)
    media: list[Print] = []
    for number in range(count):
        base = FORETELLING_MEDIA[number % len(FORETELLING_MEDIA)]
        medium = replace(
            base,
            name=f"drawn {number}",
            ink_strength=base.ink_strength * rng.uniform(0.8, 1.2),
            n_factor=rng.uniform(1.6, 5.0),
            ink_limit=rng.uniform(1.8, 3.6),
            overdrive=rng.uniform(0.95, 1.3),
            surface=base.surface * rng.uniform(0.6, 1.4),
            capacity=float(rng.choice([4.0, 2.2])),
            coalescence=rng.uniform(0.0, 0.6),
        )
        inks = replace(
            INVENTED_INKS,
            trapping=rng.uniform(0.85, 1.0),
            colour_removed=rng.uniform(0.4, 0.9),
            black_in_colour=rng.uniform(0.0, 1.0),
            tone_light=tuple(rng.uniform(0.6, 1.2, 4)),
            tone_dark=tuple(rng.uniform(0.5, 1.4, 4)),
        )
        power = np.exp(rng.uniform(np.log(0.75), np.log(1.5), 3))
        media.append(DrawnMedium(medium, inks, power, rng.uniform(0.01, 2.5, 3)))
    return media


def model_media() -> list[Print]:
    """The four media of the model as they are."""
    straight = np.ones(3), np.full(3, 1e-6)
    return [DrawnMedium(medium, INVENTED_INKS, *straight) for medium in FORETELLING_MEDIA]


def measured(folder: Path) -> Iterator[tuple[str, list[Print]]]:
    """A measured chart, smoothly interpolated."""
    from scipy.interpolate import RBFInterpolator

    for name in CHARTS:
        path = folder / "inkjet-matte" / name
        table = read_measurements(path.read_bytes(), file=name).tables[0]
        reading = reduce_readings(table, check_rows=False)
        assert reading.device is not None
        colours = unique_colours(reading.device)
        lab = average_by_colour(reading.lab, colours)
        yield path.stem, [RBFInterpolator(colours.device, lab, neighbors=80, smoothing=1e-3)]


def surface_volume(device: Floats, look: Print) -> float:
    """Volume as a user gets it from a chart with a surface."""
    colours = unique_colours(device).device
    surface = device_surface(colours, channels=RGB)
    assert surface is not None
    return float(volume(look(colours), surface.triangles))


def lattice(*levels: int) -> Floats:
    """A plain lattice of even steps."""
    axes = [np.rint(np.linspace(0.0, 255.0, count)) for count in levels]
    return np.stack(np.meshgrid(*axes, indexing="ij"), axis=-1).reshape(-1, 3) / 255.0


def cube_surface(steps: Floats) -> Floats:
    """The faces of the cube at these levels."""
    cube = np.stack(np.meshgrid(steps, steps, steps, indexing="ij"), axis=-1).reshape(-1, 3) / 255.0
    return np.asarray(cube[((cube == 0.0) | (cube == 1.0)).any(axis=1)])


def errors(device: Floats, media: list[Print], truths: Floats) -> Floats:
    """Percent from the truth, one medium each."""
    return np.array(
        [100.0 * (surface_volume(device, look) / true - 1.0) for look, true in zip(media, truths)]
    )


def told(found: Floats) -> str:
    """Root mean square, mean and largest error."""
    return f"{np.sqrt(np.mean(found**2)):5.2f} {found.mean():+6.2f} {np.abs(found).max():5.2f}"


def compare(families: dict[str, list[Print]]) -> None:
    """The table: each set on each family."""
    dense = surface_patches(33).device
    sets = {
        'form, question "everything"': choose_patches(400).device,
        'form, question "gamut"': choose_patches(400, question="gamut").device,
        "lattice 7 x 7 x 7": lattice(7, 7, 7),
        "lattice 8 x 7 x 7": lattice(8, 7, 7),
    }
    rng = np.random.default_rng(3)
    random = [np.rint(rng.random((400, 3)) * 255.0) / 255.0 for _ in range(RANDOM_SETS)]
    for family, media in families.items():
        truths = np.array([surface_volume(dense, look) for look in media])
        print(f"\n{family}: percent from the truth: root mean square, mean, largest")
        for name, device in sets.items():
            print(f"  {name:34} {len(device):4} patches  {told(errors(device, media, truths))}")
        hulls = [
            100.0 * (hull_volume(look(one)) / true - 1.0)
            for one in random
            for look, true in zip(media, truths)
        ]
        print(f"  {'random, hull in Lab':34} {400:4} patches  {told(np.array(hulls))}")


def bends() -> None:
    """What each bend of the levels costs on the media it was chosen on."""
    media = drawn_media(CHOOSING_SEED)
    dense = surface_patches(33).device
    truths = np.array([surface_volume(dense, look) for look in media])
    print("levels  bend   root mean square, mean, largest error in percent")
    for count in (5, 6, 7, 8, 9, 10):
        for bend in (0.0, 0.2, 0.3, 0.4, 0.6):
            steps = placed_levels(count, bend=bend)
            print(f"{count:6} {bend:5}   {told(errors(cube_surface(steps.astype(float)), media, truths))}")


def foretell() -> None:
    """What forms of each size and question will tell from three sheets."""
    print(
        "question    patches   volume: bias, deviation %   black L*    grey C*   worst medium, three sheets"
    )
    for question in ("everything", "gamut", "tone"):
        for count in (100, 200, 400, 900):
            patches = choose_patches(count, question=question)
            found = foretell_precision(patches, rng=np.random.default_rng(5), rounds=60)
            sizes = found.of("gamut_volume")
            bias = max((100.0 * one.bias / one.truth for one in sizes), key=abs)
            spread = max(100.0 * one.deviation / one.truth for one in sizes)
            others = "  ".join(f"{found.largest_error(name):8.2f}" for name in ("black_l", "grey_balance"))
            print(f"{question:12} {count:6}   {bias:+18.2f} {spread:6.2f}   {others}")


def main() -> None:
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("--bends", action="store_true", help="how the bend of the levels was chosen")
    parser.add_argument("--foretell", action="store_true", help="what forms of each size will tell")
    parser.add_argument("--data", type=Path, help="the folder of measured data")
    options = parser.parse_args()
    if options.bends:
        bends()
        return
    if options.foretell:
        foretell()
        return
    families = {
        "the four media of the model": model_media(),
        "24 media held back": drawn_media(HELD_BACK_SEED),
    }
    if options.data:
        families |= {f"measured {name}": looks for name, looks in measured(options.data)}
    compare(families)


if __name__ == "__main__":
    main()
