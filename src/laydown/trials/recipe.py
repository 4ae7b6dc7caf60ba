"""How a sheet is printed: every setting that makes two prints alike or unlike."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

ProfileOrigin = Literal["own", "supplier", "borrowed", "none", ""]
Intent = Literal["perceptual", "relative colorimetric", "absolute colorimetric", "saturation", "none", ""]
Direction = Literal["one way", "both ways", ""]
ColourManagement = Literal["application", "driver", "raster processor", "printer"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Recipe:
    """The settings of a print, as planned or as really set; "" and None mean not stated.

    ``colour_managed_by`` lists every place where a profile is applied: for pictures it must be exactly one,
    for a measured chart none. ``profile_sha256`` names the kept profile file. ``profile_media_setting`` is
    the media setting the profile was built on. ``ink_load_ml_m2`` is the ink laid down, where it is known.
    """

    media_setting: str = ""
    quality: str = ""
    resolution_ppi: float | None = None
    passes: int | None = None
    direction: Direction = ""
    ink_adjust_percent: float | None = None
    ink_load_ml_m2: float | None = None
    black_ink: str = ""
    head_gap: str = ""
    cutter_off: bool | None = None
    feed_adjust: str = ""
    drying_seconds_per_pass: float | None = None
    profile_name: str = ""
    profile_sha256: str = ""
    profile_origin: ProfileOrigin = ""
    profile_media_setting: str = ""
    intent: Intent = ""
    black_point_compensation: bool | None = None
    colour_managed_by: tuple[ColourManagement, ...] = ()
    file_name: str = ""
    file_sha256: str = ""
    words: str = ""


NOTHING_SET = Recipe()


@dataclass(frozen=True, slots=True, kw_only=True)
class Coat:
    """A protective coat: what, how much, how. Follow its data sheet and local rules when spraying."""

    product: str = ""
    batch: str = ""
    dilution: str = ""
    tool: str = ""
    coats: int | None = None
    wet_g_m2: float | None = None
    flow_cup_seconds: float | None = None
    words: str = ""
