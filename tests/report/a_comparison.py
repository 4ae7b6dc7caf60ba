"""An invented comparison, built the same every time: what the pages, the PDF and the JSON are tested with.

Five media that do not exist, three sheets of each but one; every kind of call, a refused difference, a
finding in both M1 and M2, suspicious patches, overlaps, cautions and problems.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from laydown.kernel.problems import Problem
from laydown.science.findings.catalogue import METRICS
from laydown.science.findings.metric import Metric
from laydown.usecases.comparison import (
    CallsByFinding,
    Candidate,
    ComparedDifference,
    Comparison,
    Finding,
    GamutBody,
    Overlap,
    PatchCell,
    PatchMap,
    SheetSummary,
    StatedFact,
    Swatch,
    ToneCurve,
)

M1 = "M1, white backing, D50/2°"
M2 = "M2, white backing, D50/2°"
HOUSE = "Wren Rag 308"
T = {2: 12.706, 3: 4.303}  # Student's t, 97.5 %, n - 1 degrees of freedom: from memory, to four figures
LEVELS = (20.0, 30.0, 40.0, 50.0, 60.0, 70.0, 80.0)


@dataclass(frozen=True)
class Medium:
    name: str
    sheets: int
    dmax: float
    black: float
    white: tuple[float, float, float]
    uv: float
    chroma: float
    gamut: float
    lost: float
    warp: float


MEDIA = (
    Medium(HOUSE, 3, 1.652, 16.4, (96.8, 0.3, 1.9), 0.4, 0.62, 452_310.0, 3.0, 0.8),
    Medium("Tern Baryta 310", 3, 2.418, 4.1, (97.1, 1.1, -4.6), 6.3, 0.9, 811_905.0, 0.0, 1.0),
    Medium("Heron Canvas 380", 3, 1.905, 11.2, (95.2, 0.6, 0.4), 2.4, 0.74, 563_018.0, 2.0, 0.95),
    Medium("Plover Smooth 290", 3, 1.657, 16.3, (96.6, 0.4, 2.2), 0.5, 0.63, 455_870.0, 3.0, 0.8),
    Medium(
        "Curlew Textured Cotton, Warm White 315",
        1,
        1.598,
        17.3,
        (95.9, 0.9, 5.1),
        0.2,
        0.6,
        431_200.0,
        4.0,
        0.75,
    ),
)

SRGB = Medium("sRGB", 1, 3.0, 0.0, (100.0, 0.0, 0.0), 0.0, 1.0, 832_000.0, 0.0, 0.0)

# How far sheets of one medium differ, and what each medium's true value is, by metric.
VALUES = {
    "white_l": (0.05, lambda m: m.white[0]),
    "white_a": (0.04, lambda m: m.white[1]),
    "white_b": (0.07, lambda m: m.white[2]),
    "whiteness_cie": (0.4, lambda m: 92.0 - 4.6 * m.white[2]),
    "brightener_db": (0.05, lambda m: m.uv),
    "opacity": (0.2, lambda m: 96.5 + m.uv / 5),
    "black_l": (0.11, lambda m: m.black),
    "black_c": (0.2, lambda m: 1.1 + m.warp),
    "dmax_visual": (0.006, lambda m: m.dmax),
    "ink_limit_hook": (0.004, lambda m: 0.06 if "Canvas" in m.name else 0.0),
    "gamut_volume": (2300.0, lambda m: m.gamut),
    "tone_reversal": (0.02, lambda m: 0.0),
    "shadow_steps_lost": (0.3, lambda m: m.lost),
    "grey_balance": (0.12, lambda m: 1.4 * m.warp),
    "grey_balance_max": (0.4, lambda m: 3.1 * m.warp),
    "repeat_mcdm": (0.03, lambda m: 0.2 + 0.1 * m.warp),
    "sheet_spread": (0.02, lambda m: 0.3 + 0.1 * m.warp),
}
NEVER_BELOW_ZERO = ("tone_reversal", "shadow_steps_lost", "ink_limit_hook", "repeat_mcdm", "sheet_spread")


def under(metric: Metric, condition: str) -> str:
    """The condition in the words of the metric: its own colorimetry, and no UV state where both are used."""
    if metric.id.startswith("brightener"):
        return "M1 and M2, white backing, D50/2°"
    if metric.id == "opacity":
        return "M1, white and black backing, D50/2°"
    return condition.replace("D50/2°", metric.colorimetry)


def xyz_to_lab(xyz: np.ndarray) -> np.ndarray:
    """CIELAB, D50 white (96.422, 100, 82.521)."""
    r = np.maximum(xyz / np.array([96.422, 100.0, 82.521]), 0)
    f = np.where(r > (6 / 29) ** 3, np.cbrt(r), r / (3 * (6 / 29) ** 2) + 4 / 29)
    return np.stack(
        [116 * f[..., 1] - 16, 500 * (f[..., 0] - f[..., 1]), 200 * (f[..., 1] - f[..., 2])], axis=-1
    )


# sRGB to XYZ, adapted to D50 by Bradford: from memory, to four figures
TO_XYZ = np.array([[0.4361, 0.3851, 0.1431], [0.2225, 0.7169, 0.0606], [0.0139, 0.0971, 0.7141]]) * 100


def rgb_to_lab(rgb: np.ndarray) -> np.ndarray:
    linear = np.where(rgb <= 0.04045, rgb / 12.92, ((rgb + 0.055) / 1.055) ** 2.4)
    return xyz_to_lab(linear @ TO_XYZ.T)


def lab_to_hex(lab: np.ndarray) -> tuple[str, bool]:
    fy = (lab[0] + 16) / 116
    f = np.array([fy + lab[1] / 500, fy, fy - lab[2] / 200])
    xyz = np.where(f > 6 / 29, f**3, 3 * (6 / 29) ** 2 * (f - 4 / 29)) * np.array([96.422, 100.0, 82.521])
    linear = np.linalg.solve(TO_XYZ, xyz)
    clipped = bool(np.any(linear < -0.001) or np.any(linear > 1.001))
    linear = np.clip(linear, 0, 1)
    rgb = np.where(linear <= 0.0031308, linear * 12.92, 1.055 * linear ** (1 / 2.4) - 0.055)
    return "#" + "".join(f"{round(float(v) * 255):02x}" for v in rgb), clipped


def printed(rgb: np.ndarray, medium: Medium) -> np.ndarray:
    """sRGB squeezed into the medium: black raised, chroma shrunk, paper tinted."""
    lab = rgb_to_lab(rgb)
    light = lab[..., :1] / 100
    out = np.concatenate(
        [medium.black + (medium.white[0] - medium.black) * light, lab[..., 1:] * medium.chroma], -1
    )
    tint = np.array([0.0, medium.white[1], medium.white[2]])
    return out + tint * light**2


def body(medium: Medium, n: int = 9) -> GamutBody:
    u, v = np.meshgrid(np.linspace(0, 1, n), np.linspace(0, 1, n), indexing="ij")
    vertices, triangles = [], []
    for axis in range(3):
        for end in (0.0, 1.0):
            rgb = np.empty((n, n, 3))
            others = [k for k in range(3) if k != axis]
            rgb[..., axis], rgb[..., others[0]], rgb[..., others[1]] = end, u, v
            start = sum(len(x) for x in vertices)
            vertices.append(printed(rgb, medium).reshape(-1, 3))
            for i in range(n - 1):
                for j in range(n - 1):
                    a = start + i * n + j
                    triangles += [(a, a + n, a + 1), (a + 1, a + n, a + n + 1)]
    points, faces = np.concatenate(vertices), np.array(triangles, dtype=np.int64)
    cuts = {level: (outline(points, faces, level),) for level in LEVELS if level > medium.black + 2}
    return GamutBody(points, faces, "surface", medium.gamut, cuts)


def outline(points: np.ndarray, faces: np.ndarray, level: float) -> np.ndarray:
    """Where the surface crosses an L*, ordered by hue: good enough for bodies round about the greys."""
    edges = np.concatenate([faces[:, [0, 1]], faces[:, [1, 2]], faces[:, [2, 0]]])
    p, q = points[edges[:, 0]], points[edges[:, 1]]
    hit = (p[:, 0] - level) * (q[:, 0] - level) < 0
    p, q = p[hit], q[hit]
    at = p + ((level - p[:, 0]) / (q[:, 0] - p[:, 0]))[:, None] * (q - p)
    ab = at[:, 1:]
    middle = ab.mean(axis=0)
    order = np.argsort(np.arctan2(ab[:, 1] - middle[1], ab[:, 0] - middle[0]))
    ring = ab[order]
    return np.concatenate([ring, ring[:1]])


def tones(medium: Medium) -> tuple[ToneCurve, ...]:
    steps = np.linspace(0, 1, 21)
    out = []
    for name, mask in (
        ("neutral", (1, 1, 1)),
        ("cyan", (1, 0, 0)),
        ("magenta", (0, 1, 0)),
        ("yellow", (0, 0, 1)),
    ):
        rgb = 1 - steps[:, None] * np.array(mask, dtype=float)
        lab = printed(rgb, medium)
        lab[:, 1:] += 0.6 * medium.warp * np.sin(steps * math.pi)[:, None] * np.array([1.0, -1.5])
        spread = 0.08 + 0.1 * np.sin(steps * math.pi)
        if medium.sheets == 1:
            spread = np.full_like(steps, np.nan)
        lost = tuple(i >= 21 - int(medium.lost) for i in range(21))
        out.append(ToneCurve(name, steps, lab, spread, lost))
    return tuple(out)


def patch_map(medium: Medium, sheet: int) -> PatchMap:
    rng = np.random.default_rng(abs(sum(map(ord, medium.name))) + sheet)
    rows, columns = 14, 20
    cells = []
    for k in range(rows * columns):
        row, column = divmod(k, columns)
        device = np.round(rng.random(3) * 5) / 5
        if k < 21 - 1:
            device = np.full(3, 1 - k / 20)
        lab = printed(device, medium)
        suspicion = ""
        if sheet == 0 and k in (67, 201) and medium.name != HOUSE:
            lab = lab + np.array([-9.0, 4.0, 3.0])
            suspicion = "9.8 ΔE00 away from the same patch on the other sheets"
        cells.append(
            PatchCell(
                f"{chr(65 + row)}{column + 1}",
                row,
                column,
                tuple(float(v) for v in device),
                tuple(float(v) for v in lab),
                lab_to_hex(lab)[0],
                suspicion,
            )
        )
    return PatchMap(f"sheet {sheet + 1}", M1, rows, columns, True, tuple(cells))


def findings(medium: Medium) -> tuple[Finding, ...]:
    rng = np.random.default_rng(sum(map(ord, medium.name)))
    out = []
    for fid, (sd, true_value) in VALUES.items():
        metric = METRICS[fid]
        both = metric.family in ("white", "black") and fid not in ("brightener_db", "opacity")
        for uv in (M1, M2) if both else (M1,):
            centre = true_value(medium)
            if uv == M2 and fid == "white_b":
                centre += medium.uv
            sheets = centre + sd * rng.standard_normal(medium.sheets)
            if fid in NEVER_BELOW_ZERO:
                sheets = np.maximum(sheets, 0)
            if fid == "shadow_steps_lost":
                sheets = np.round(sheets)
            n, mean = medium.sheets, float(sheets.mean())
            spread = float(sheets.std(ddof=1)) if n > 1 else math.nan
            half = T[n - 1] * spread / math.sqrt(n) if n > 1 else math.nan
            note = "One sheet: no interval can be given." if n == 1 else ""
            if fid == "ink_limit_hook" and mean > 0.03:
                note = "Full ink is lighter than the darkest patch: the ink limit is set too high."
            out.append(
                Finding(
                    id=fid,
                    label=metric.label,
                    family=metric.family,
                    value=mean,
                    low=mean - half,
                    high=mean + half,
                    n=n,
                    sd=spread,
                    unit=metric.unit,
                    decimals=metric.decimals,
                    condition=under(metric, uv),
                    method=metric.method,
                    source=metric.source,
                    judged=metric.judged and uv == M1,
                    note=note,
                    detail="patch A20" if metric.family == "black" else "",
                    per_sheet=tuple((f"sheet {i + 1}", float(v)) for i, v in enumerate(sheets)),
                )
            )
    return tuple(out)


def candidate(medium: Medium) -> Candidate:
    swatches = []
    for name, rgb in (
        ("paper", (1, 1, 1)),
        ("black", (0, 0, 0)),
        ("cyan", (0, 1, 1)),
        ("magenta", (1, 0, 1)),
        ("yellow", (1, 1, 0)),
        ("red", (1, 0, 0)),
        ("green", (0, 1, 0)),
        ("blue", (0, 0, 1)),
    ):
        lab = printed(np.array(rgb, dtype=float), medium)
        code, clipped = lab_to_hex(lab)
        swatches.append(
            Swatch(
                name,
                tuple(float(v) for v in lab),
                code,
                clipped,
                "RGB " + " ".join(str(255 * v) for v in rgb),
            )
        )
    stem = medium.name.split(",")[0].lower().replace(" ", "-")
    return Candidate(
        name=medium.name,
        house=medium.name == HOUSE,
        sheets=tuple(
            SheetSummary(
                f"sheet {i + 1}", (f"{stem}-{i + 1}-m1.txt", f"{stem}-{i + 1}-m2.txt"), (M1, M2), 280
            )
            for i in range(medium.sheets)
        ),
        facts=(
            StatedFact("measurement", "M1 and M2", "FILTER, line 6"),
            StatedFact("backing", "white", "SAMPLE_BACKING, line 8"),
            StatedFact("illuminant and observer", "D50, 2°", "WEIGHTING_FUNCTION, line 7"),
            StatedFact("instrument", "45:0 spectrophotometer, invented", "INSTRUMENTATION, line 4"),
            StatedFact("age of the print", "not stated", "not stated"),
            StatedFact("coating", "none", "trial.json"),
        ),
        findings=findings(medium),
        swatches=tuple(swatches),
        tones=tones(medium),
        gamut=body(medium),
        patch_maps=tuple(patch_map(medium, i) for i in range(medium.sheets)),
    )


def margin_of(metric: Metric, reference: Finding) -> float | None:
    if metric.margin is None:
        return None
    return metric.margin.value * (abs(reference.value) if metric.margin_is_relative else 1.0)


def compared(metric: Metric, a: Candidate, b: Candidate, house: Candidate) -> ComparedDifference:
    fid, preference = metric.id, metric.preference
    x, y = (c.finding(fid) for c in (a, b))
    d, margin = x.value - y.value, margin_of(metric, house.finding(fid))
    common = {
        "finding": fid,
        "label": metric.label,
        "unit": metric.unit,
        "decimals": metric.decimals,
        "condition": x.condition,
        "candidate": a.name,
        "against": b.name,
        "margin": margin,
        "margin_source": "common practice, no source",
    }
    if min(x.n, y.n) < 2:
        lone = a.name if x.n < 2 else b.name
        nan = math.nan
        return ComparedDifference(
            **common,
            difference=d,
            low=nan,
            high=nan,
            call="cannot_tell",
            sheets_needed=2,
            p_adjusted=nan,
            real=False,
            refused=False,
            reason=f"Only one sheet of {lone} was measured, so its spread is not known.",
        )
    se = math.sqrt(x.sd**2 / x.n + y.sd**2 / y.n)
    low, high = d - 2.776 * se, d + 2.776 * se  # Student's t, 4 degrees of freedom: from memory
    wide = 4.6 * se
    call, sheets, real = "cannot_tell", 5, abs(d) > wide
    if real:
        call = "higher" if d > 0 else "lower"
        if preference != "none":
            call = "better" if call == preference else "worse"
        sheets = None
    elif margin is not None and abs(d) + 2.1 * se < margin:
        call, sheets = "same", None
    refused = fid == "opacity" and "Canvas" in a.name + b.name
    if refused:
        nan = math.nan
        return ComparedDifference(
            **common,
            difference=nan,
            low=nan,
            high=nan,
            call="cannot_tell",
            sheets_needed=None,
            p_adjusted=nan,
            real=False,
            refused=True,
            reason="The canvas was read with a coating and the other without; read both the same way.",
        )
    return ComparedDifference(
        **common,
        difference=d,
        low=low,
        high=high,
        call=call,
        sheets_needed=sheets,
        p_adjusted=min(1.0, math.exp(-abs(d) / (se + 1e-9))),
        real=real,
        refused=False,
        reason="",
    )


def letters(fid: str, people: tuple[Candidate, ...], differences: list[ComparedDifference]) -> dict[str, str]:
    """One letter per candidate and all it was not told apart from: plain, not the shortest set of letters."""
    apart = {(d.candidate, d.against) for d in differences if d.finding == fid and d.real}
    apart |= {(b, a) for a, b in apart}
    groups: list[frozenset[str]] = []
    for c in people:
        group = frozenset(o.name for o in people if (c.name, o.name) not in apart)
        if group not in groups:
            groups.append(group)
    return {c.name: "".join("abcdefghijkl"[i] for i, g in enumerate(groups) if c.name in g) for c in people}


def build(media: tuple[Medium, ...] = MEDIA, *, house: str = HOUSE, invented: bool = True) -> Comparison:
    people = tuple(candidate(m) for m in media)
    base = next((c for c in people if c.house), people[0] if people else None)
    judged = [METRICS[fid] for fid in VALUES if METRICS[fid].judged] if base else []
    differences = [compared(m, a, b, base) for m in judged for i, a in enumerate(people) for b in people[:i]]
    by_finding = tuple(
        CallsByFinding(
            finding=m.id,
            label=m.label,
            unit=m.unit,
            condition=under(m, M1),
            preference=m.preference,
            margin=margin_of(m, base.finding(m.id)),
            margin_source="common practice, no source",
            letters=letters(m.id, people, differences),
            assumption="Spread between sheets pooled over media (Brown-Forsythe p = 0.41).",
        )
        for m in judged
    )
    overlaps = tuple(
        Overlap(
            c.name, o, 0.86 * min(c.gamut.volume, v), c.gamut.volume, v, 0.86 * min(c.gamut.volume, v) / v, M1
        )
        for c in people
        for o, v in (("sRGB", 832_000.0), (people[0].name, people[0].gamut.volume))
        if o != c.name
    )
    return Comparison(
        version="0.1.0",
        title="Spring stock trial",
        question="Which cotton or baryta paper should replace our house rag for black-and-white editions?",
        house=house,
        condition=M1,
        confidence=0.95,
        alpha=0.05,
        comparisons=len(differences),
        candidates=people,
        differences=tuple(differences),
        by_finding=by_finding,
        overlaps=overlaps,
        references={"sRGB": body(SRGB)},
        summary=(
            "Tern Baryta 310 prints a deeper black than Wren Rag 308: 2.42 against 1.65.",
            "Plover Smooth 290 and Wren Rag 308 are the same in darkest black, within the margin.",
            "Curlew Textured Cotton, Warm White 315 cannot be called: only one sheet was measured.",
        ),
        cautions=(
            "All readings were taken with one instrument on one day; a second printing may differ more.",
            "No claim about permanence or handling is made from these readings.",
        ),
        problems=(
            Problem(
                "warning",
                "Two readings of one patch differ by 9.8 ΔE00.",
                "Look at the sheet and read it again.",
                "tern-baryta-310-1-m1.txt",
                88,
                "D8",
            ),
            Problem("error", "The table has no rows.", "Export it again.", "curlew-2.txt", 14),
            Problem(
                "note",
                "The age of the prints is not stated.",
                "State it in trial.json to compare with later trials.",
            ),
        ),
        invented=invented,
    )
