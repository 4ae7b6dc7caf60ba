"""Which patches tell the gamut best? Sets of 200, 400 and 800 on model media and on a measured chart.

    python benchmarks/compare_patch_sets.py                          the tables of docs/methods/patch-sets.md
    python benchmarks/compare_patch_sets.py --data ../shared/data    and measured charts, where they are
    python benchmarks/compare_patch_sets.py --bends                  how the bend of the levels was chosen
    python benchmarks/compare_patch_sets.py --foretell               what forms of each size will tell

No noise: what is compared is how far each set's volume lies from that of a surface of 33 levels, on the same
perfect print. Three kinds of media, of which only the last is held back from RGB and CMYK altogether:

- the four of the model, and measured charts: they kept the bend of the levels from being larger;
- 24 drawn about those four with other seeds than the 24 that levels were placed on;
- 24 of another make: media, ink spectra and driver curves drawn from other families. This is a second
  draw: the first (20261125) showed that six inks were told badly, which was mended on eight of this make with
  the choosing seed. Nothing was chosen or changed after the second had been looked at.

Their ranges are wider than prints are. Device values that a measured chart does not hold are interpolated.
"""

from __future__ import annotations

import argparse
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np

from laydown.kernel.arrays import Floats
from laydown.science.colour import lab_from_reflectance
from laydown.science.findings.form_precision import FORETELLING_MEDIA, foretell_precision
from laydown.science.findings.form_presses import Press
from laydown.science.findings.form_truths import dense_outside
from laydown.science.findings.reduction import reduce_readings
from laydown.science.forms.choose_patches import choose_patches
from laydown.science.forms.patch_levels import placed_levels
from laydown.science.forms.patch_set import CMYK, RGB
from laydown.science.forms.patch_surfaces import surface_patches
from laydown.science.gamut import average_by_colour, device_surface, hull_volume, unique_colours, volume
from laydown.science.prints import INVENTED_INKS, WAVELENGTHS_NM, Band, InkSet, Medium
from laydown.science.readings import read_measurements

SIX = (*CMYK, "O", "G")
CHOOSING_SEED, HELD_BACK_SEED, OTHER_MAKE_SEED, RANDOM_SETS = 11, 12, 20261126, 5
CHARTS = ("chart-2033-M0.txt", "chart-3190-M0.txt")
COUNTS = (200, 400, 800)
#: Plain lattices of even steps that come nearest to each count without passing it, by number of channels.
LATTICES: Mapping[int, Mapping[int, tuple[tuple[int, ...], ...]]] = {
    3: {200: ((6, 6, 5), (5, 5, 8)), 400: ((7, 7, 7), (8, 7, 7)), 800: ((9, 9, 9), (10, 9, 8))},
    4: {200: ((4, 4, 4, 3),), 400: ((4, 4, 4, 6), (5, 5, 4, 4)), 800: ((5, 5, 5, 6), (6, 5, 5, 5))},
    6: {200: ((3, 3, 3, 3, 2, 1),), 400: ((3, 3, 3, 3, 2, 2),), 800: ((3, 3, 3, 3, 3, 3),)},
}
Print = Callable[[Floats], Floats]  # device values (n, k) to Lab (n, 3)


@dataclass(frozen=True)
class DrawnMedium:
    """A press, and the tone curve that a driver puts before each of its channels (ink to ink, 0 to 1)."""

    press: Press
    curve: Callable[[Floats], Floats]

    def __call__(self, device: Floats) -> Floats:
        light = self.press.channels == RGB
        ink = self.curve(1.0 - device if light else device)
        spectra = self.press.spectra(1.0 - ink if light else ink)
        return np.asarray(lab_from_reflectance(spectra, wavelengths_nm=WAVELENGTHS_NM))


def drawn_media(seed: int, count: int = 24) -> list[Print]:
    """RGB media about those of the model, with inks and drivers of every habit."""
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
        media.append(DrawnMedium(Press(RGB, medium, inks), levelling_off(power, rng.uniform(0.01, 2.5, 3))))
    return media


def levelling_off(power: Floats, levelling: Floats) -> Callable[[Floats], Floats]:
    """Ink to the power, then levelling off."""

    def curve(ink: Floats) -> Floats:
        return np.asarray((1.0 - np.exp(-levelling * ink**power)) / (1.0 - np.exp(-levelling)))

    return curve


def other_media(channels: tuple[str, ...], *, seed: int = OTHER_MAKE_SEED, count: int = 24) -> list[Print]:
    """Media of another make: nothing about them is drawn round the model's own, nor their drivers' curves."""
    rng = np.random.default_rng(seed)
    media: list[Print] = []
    for number in range(count):
        medium = Medium(
            f"of another make {number}",
            white=rng.uniform(0.82, 0.95),
            warmth=rng.uniform(0.0, 0.09),
            brightener=rng.uniform(0.0, 0.2),
            surface=float(np.exp(rng.uniform(np.log(0.003), np.log(0.02)))),
            ink_strength=rng.uniform(0.7, 1.6),
            black_strength=rng.uniform(0.8, 1.2),
            n_factor=rng.uniform(1.3, 8.0),
            ink_limit=rng.uniform(2.0, 4.0),
            overdrive=rng.uniform(0.9, 1.25),
            capacity=float(rng.choice([4.0, 2.5])),
            coalescence=rng.uniform(0.0, 0.4),
        )
        inks = InkSet(
            "of another make",
            *(
                tuple(_other_band(band, rng) for band in bands)
                for bands in (
                    INVENTED_INKS.cyan,
                    INVENTED_INKS.magenta,
                    INVENTED_INKS.yellow,
                    INVENTED_INKS.black,
                )
            ),
            trapping=rng.uniform(0.8, 1.0),
            colour_removed=rng.uniform(0.2, 0.95),
            black_in_colour=rng.uniform(0.0, 1.0),
        )
        turns = rng.uniform(-0.45, 0.45, (2, len(channels)))
        media.append(DrawnMedium(Press(channels, medium, inks), winding(*turns)))
    return media


def winding(first: Floats, second: Floats) -> Callable[[Floats], Floats]:
    """A rising curve that winds about the straight line, steeper now at the ends and now in the middle."""

    def curve(ink: Floats) -> Floats:
        once = first * np.sin(2.0 * np.pi * ink) / (2.0 * np.pi)
        twice = second * np.sin(4.0 * np.pi * ink) / (4.0 * np.pi)
        return np.clip(ink + once + twice, 0.0, 1.0)

    return curve


def _other_band(band: Band, rng: np.random.Generator) -> Band:
    shift, strength, width = rng.uniform(-12.0, 12.0), rng.uniform(0.75, 1.25), rng.uniform(0.7, 1.4)
    return Band(
        band.density * strength,
        band.low_nm + shift,
        band.high_nm + shift,
        band.low_width_nm * width,
        band.high_width_nm * width,
    )


def model_media(channels: tuple[str, ...] = RGB) -> list[Print]:
    """The four media of the model as they are."""
    return [DrawnMedium(Press(channels, medium), np.asarray) for medium in FORETELLING_MEDIA]


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


def told_volume(device: Floats, look: Print, channels: tuple[str, ...]) -> float:
    """Volume as a user gets it: of the closed surface where there is one, otherwise of the hull."""
    colours = unique_colours(device).device
    surface = device_surface(colours, channels=channels)
    lab = look(colours)
    return float(hull_volume(lab) if surface is None else volume(lab, surface.triangles))


def lattice(*levels: int) -> Floats:
    """A plain lattice of even steps; a channel of one level is left bare."""
    axes = [np.rint(np.linspace(0.0, 255.0, count)) for count in levels]
    return np.stack(np.meshgrid(*axes, indexing="ij"), axis=-1).reshape(-1, len(levels)) / 255.0


def cube_surface(steps: Floats) -> Floats:
    """The faces of the cube at these levels."""
    cube = np.stack(np.meshgrid(steps, steps, steps, indexing="ij"), axis=-1).reshape(-1, 3) / 255.0
    return np.asarray(cube[((cube == 0.0) | (cube == 1.0)).any(axis=1)])


def even_surface(count: int) -> Floats:
    """The finest surface of even steps that a count pays for: patches well placed, levels left plain."""
    steps = int(np.sqrt((count - 2) / 6.0)) + 1
    return cube_surface(np.rint(np.linspace(0.0, 255.0, steps)))


def errors(device: Floats, media: list[Print], truths: Floats, channels: tuple[str, ...] = RGB) -> Floats:
    """Percent from the truth, one medium each."""
    pairs = zip(media, truths, strict=True)
    return np.array([100.0 * (told_volume(device, look, channels) / true - 1.0) for look, true in pairs])


def truths_of(media: list[Print], channels: tuple[str, ...] = RGB) -> Floats:
    """True volumes: of a very fine surface, or of the hull of a very fine set of inks."""
    dense = dense_outside(channels)
    return np.array([told_volume(dense, look, channels) for look in media])


def told(found: Floats) -> str:
    """Root mean square, mean and largest error."""
    return f"{np.sqrt(np.mean(found**2)):.2f}, {found.mean():+.2f}, {np.abs(found).max():.2f}"


def sets_of(count: int, channels: tuple[str, ...]) -> dict[str, list[Floats]]:
    """What is compared at one count; of random sets several."""
    sets = {
        'form, "everything"': [choose_patches(count, channels=channels).device],
        'form, "gamut"': [choose_patches(count, channels=channels, question="gamut").device],
    }
    if len(channels) == 3:
        sets["surface of even steps"] = [even_surface(count)]
    for levels in LATTICES[len(channels)][count]:
        sets["lattice " + " x ".join(map(str, levels))] = [lattice(*levels)]
    rng = np.random.default_rng(3)
    plain = [np.rint(rng.random((count, len(channels))) * 255.0) / 255.0 for _ in range(RANDOM_SETS)]
    corners = surface_patches(2, channels=channels).device
    sets["random (hull)"] = plain
    sets["random and solids (hull)"] = [np.concatenate([corners, one[len(corners) :]]) for one in plain]
    return sets


def table(count: int, families: Mapping[str, list[Print]], channels: tuple[str, ...]) -> Iterator[str]:
    """Rows of one table, as they stand in the docs."""
    truths = {name: truths_of(media, channels) for name, media in families.items()}
    yield f"| set | patches | {' | '.join(families)} |"
    yield "|---|---|" + "---|" * len(families)
    for name, devices in sets_of(count, channels).items():
        cells = []
        for family, media in families.items():
            if name.startswith("random"):
                # No surface is to be had: its corners would bound nothing but themselves.
                found = [
                    100.0 * (float(hull_volume(look(one))) / true - 1.0)
                    for one in devices
                    for look, true in zip(media, truths[family], strict=True)
                ]
                cells.append(told(np.array(found)))
            else:
                cells.append(told(errors(devices[0], media, truths[family], channels)))
        yield f"| {name} | {len(devices[0])} | {' | '.join(cells)} |"


def bends() -> None:
    """What each bend of the levels costs on the media it was chosen on."""
    media = drawn_media(CHOOSING_SEED)
    truths = truths_of(media)
    print("levels  bend   root mean square, mean, largest error in percent")
    for count in (5, 6, 7, 8, 9, 10):
        for bend in (0.0, 0.2, 0.3, 0.4, 0.6):
            steps = placed_levels(count, bend=bend)
            print(f"{count:6} {bend:5}   {told(errors(cube_surface(steps.astype(float)), media, truths))}")


def foretell() -> None:
    """What forms of each size and question will tell from three sheets: the medium that is told worst."""
    print(
        "| channels | question | patches | volume, bias % | volume, deviation % | Dmax, D | black, L* "
        "| grey between steps, L* | grey balance, C* |"
    )
    print("|---|---|---|---|---|---|---|---|---|")
    asked = [(RGB, question) for question in ("everything", "gamut", "tone")]
    for channels, question in [*asked, (CMYK, "everything"), (SIX, "everything")]:
        for count in (100, 200, 400, 900):
            patches = choose_patches(count, channels=channels, question=question)
            found = foretell_precision(patches, rng=np.random.default_rng(5), rounds=60)
            sizes = found.of("gamut_volume")
            bias = max((100.0 * one.bias / one.truth for one in sizes), key=abs)
            spread = max(100.0 * one.deviation / one.truth for one in sizes)
            cells = [f"{found.largest_error('dmax_visual'):.3f}"]
            cells += [f"{found.largest_error(name):.2f}" for name in ("black_l", "neutral_l", "grey_balance")]
            named = "".join(channels)
            print(
                f"| {named} | {question} | {count} | {bias:+.2f} | {spread:.2f} | " + " | ".join(cells) + " |"
            )


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
        "4 of the model": model_media(),
        "24 drawn about them": drawn_media(HELD_BACK_SEED),
        "24 of another make": other_media(RGB),
    }
    if options.data:
        families |= {f"measured {name}": looks for name, looks in measured(options.data)}
    for count in COUNTS:
        print(f"\nRGB, {count} patches: percent from the truth: root mean square, mean, largest\n")
        print("\n".join(table(count, families, RGB)))
    for channels in (CMYK, SIX):
        media = {"4 of the model": model_media(channels), "24 of another make": other_media(channels)}
        for count in COUNTS:
            print(f"\n{''.join(channels)}, {count} patches\n")
            print("\n".join(table(count, media, channels)))


if __name__ == "__main__":
    main()
