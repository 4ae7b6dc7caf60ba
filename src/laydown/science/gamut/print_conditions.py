"""Standard printing conditions as gamuts: the aim colours of a standard, mixed by a printing model."""

from __future__ import annotations

import itertools
from dataclasses import dataclass

import numpy as np

from laydown.kernel.arrays import Floats, Ints
from laydown.kernel.constants import Constant
from laydown.kernel.errors import BadSetting
from laydown.science.colour import lab_from_xyz, xyz_from_lab
from laydown.science.gamut.mesh import outward
from laydown.science.gamut.surface import device_surface
from laydown.science.prints.neugebauer import PRIMARIES, mix

Lab = tuple[float, float, float]

N_FACTOR = Constant(
    2.0,
    "1",
    "Yule-Nielsen n for complete spreading of light in the paper; 1.5 to 4 changes volumes by 1 to 2 %",
    "computed",
)


@dataclass(frozen=True, slots=True)
class PrintCondition:
    """Aim colours of a printing condition, Lab (D50, 2 degrees, M1, white backing).

    ``cmy`` is the overprint of the three colour inks; ``black`` is black ink alone; ``darkest`` is the
    reference black point, all four inks.
    """

    name: str
    description: str
    paper: Lab
    cyan: Lab
    magenta: Lab
    yellow: Lab
    red: Lab
    green: Lab
    blue: Lab
    cmy: Lab
    black: Lab
    darkest: Lab
    source: str


_SOURCE = "ISO/PAS 15339-2:2015, aim colours as in its published characterization data (2012-12)"

CRPC2 = PrintCondition(
    name="ISO/PAS 15339-2 CRPC2",
    description="newsprint, heatset",
    paper=(87.0, 0.0, 3.0),
    cyan=(57.0, -28.0, -34.0),
    magenta=(52.0, 58.0, -2.0),
    yellow=(82.0, -2.0, 72.0),
    red=(51.0, 55.0, 32.0),
    green=(51.0, -44.0, 19.0),
    blue=(35.0, 9.0, -32.0),
    cmy=(32.0, 0.0, 0.0),
    black=(30.0, 1.0, 2.0),
    darkest=(22.03, 0.80, 1.26),
    source=_SOURCE,
)

CRPC3 = PrintCondition(
    name="ISO/PAS 15339-2 CRPC3",
    description="premium uncoated",
    paper=(95.0, 1.0, -4.0),
    cyan=(60.0, -26.0, -44.0),
    magenta=(56.0, 61.0, -2.0),
    yellow=(89.0, -3.0, 76.0),
    red=(54.0, 56.0, 28.0),
    green=(54.0, -43.0, 15.0),
    blue=(38.0, 10.0, -31.0),
    cmy=(34.0, 0.0, 0.0),
    black=(32.0, 1.0, 1.0),
    darkest=(27.08, -0.19, 1.07),
    source=_SOURCE,
)

CRPC6 = PrintCondition(
    name="ISO/PAS 15339-2 CRPC6",
    description="premium coated",
    paper=(95.0, 1.0, -4.0),
    cyan=(56.0, -37.0, -50.0),
    magenta=(48.0, 75.0, -4.0),
    yellow=(89.0, -4.0, 93.0),
    red=(47.0, 68.0, 48.0),
    green=(50.0, -66.0, 26.0),
    blue=(25.0, 20.0, -46.0),
    cmy=(23.0, 0.0, 0.0),
    black=(16.0, 0.0, 0.0),
    darkest=(9.05, 0.20, 0.39),
    source=_SOURCE,
)


def print_condition_mesh(
    condition: PrintCondition, *, cells: int = 8, n_factor: float = N_FACTOR.value
) -> tuple[Floats, Ints]:
    """The gamut of a printing condition from its aim colours, as a closed mesh wound outward.

    For asking whether an inkjet medium can stand in for a press. It is a model between published aims, not
    a measurement of a press run: take its volume as good to about 3 %, a coverage to about 5 %. Do not
    use it to pass or fail a proof.

    Parameters
    ----------
    condition : the aim colours
    cells : steps along each ink
    n_factor : Yule-Nielsen n, 1 or more

    Returns
    -------
    vertices (v, 3) L*, a*, b*, and triangles (f, 3)

    Raises
    ------
    BadSetting
        if ``cells`` or ``n_factor`` is below 1.

    Notes
    -----
    Yule-Nielsen-modified Neugebauer mixing in XYZ over the CMYK surface of ``device_surface``. Overprints
    of black with any colour ink are not among the aims; all are taken as the reference black point. Tone
    value increase only moves colours along the surface, so it is left out.

    References
    ----------
    ISO/PAS 15339-2:2015. Yule, Nielsen (1951), TAGA Proc. 3, 65-76; Viggiano (1985), TAGA Proc. 37,
    647-661 (from memory).

    Checked against
    ---------------
    Surfaces of the full characterization data: volumes -0.2 % (CRPC2), +2.8 % (CRPC3), -2.3 % (CRPC6);
    of the full data 94, 93 and 95 % lie inside the model.
    """
    if n_factor < 1.0:
        what = f"The Yule-Nielsen n must be 1 or more; got {n_factor}."
        raise BadSetting(what)
    areas = _surface_areas(cells)
    surface = device_surface(areas)
    assert surface is not None  # every corner and face is there by construction
    solids = xyz_from_lab(np.array([_solid(condition, tuple(on)) for on in PRIMARIES.tolist()]))
    vertices = lab_from_xyz(mix(areas, solids, n_factor=n_factor))
    return vertices, outward(vertices, surface.triangles)


def _solid(condition: PrintCondition, inks: tuple[float, ...]) -> Lab:
    """Aim colour of one of the 16 combinations of C, M, Y, K."""
    c, m, y, k = (ink > 0.0 for ink in inks)
    if k:
        return condition.darkest if c or m or y else condition.black
    return {
        (False, False, False): condition.paper,
        (True, False, False): condition.cyan,
        (False, True, False): condition.magenta,
        (False, False, True): condition.yellow,
        (False, True, True): condition.red,
        (True, False, True): condition.green,
        (True, True, False): condition.blue,
        (True, True, True): condition.cmy,
    }[c, m, y]


def _surface_areas(cells: int) -> Floats:
    """Dot areas (v, 4) of an even grid over the CMYK surface."""
    if cells < 1:
        what = f"An ink needs at least one step; got {cells}."
        raise BadSetting(what)
    steps = range(cells + 1)
    picked = [
        (*inks, black)
        for inks in itertools.product(steps, repeat=3)
        for black in steps
        if _on_surface(min(inks) == 0, max(inks) == cells, black / cells)
    ]
    areas: Floats = np.array(picked, dtype=np.float64) / cells
    return areas


def _on_surface(none_of_one: bool, full_of_one: bool, black: float) -> bool:
    """Light cap, dark cap, or a wall between them."""
    if black == 0.0:
        return none_of_one
    return full_of_one and (none_of_one or black == 1.0)
