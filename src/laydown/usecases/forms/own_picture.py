"""Reads a studio's own picture: its actual size, and its pixels in sRGB."""

from __future__ import annotations

from io import BytesIO
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from laydown.kernel.constants import Constant
from laydown.kernel.errors import BadSetting, UnreadableFile
from laydown.science.forms.form_wish import OwnPicture
from laydown.science.forms.page import MM_PER_INCH

if TYPE_CHECKING:
    from PIL import Image

LARGEST_PICTURE = Constant(60e6, "pixels", "chosen here: A2 at 300 ppi, decoded in 180 MB", "computed")
LEAST_PPI = Constant(10.0, "ppi", "chosen here: less is a mistaken tag", "computed")


def measure_picture(content: bytes, *, name: str, sha256: str, ppi: float | None = None) -> OwnPicture:
    """A picture's actual size, from its resolution tag or as told.

    Raises
    ------
    UnreadableFile
        It is no picture that can be read, or larger than ``LARGEST_PICTURE``.
    BadSetting
        It says no resolution and none is told.
    """
    image = _opened(content, name=name)
    width, height = image.size
    tagged = image.info.get("dpi", (0.0, 0.0))
    across, down = (ppi, ppi) if ppi else (float(tagged[0]), float(tagged[1]))
    if min(across, down) < LEAST_PPI.value:
        raise BadSetting(
            "the picture does not say at how many pixels per inch it is printed.",
            todo="State it, so that the picture has its actual size.",
            file=name,
        )
    return OwnPicture(
        name=name, sha256=sha256, width_mm=width / across * MM_PER_INCH, height_mm=height / down * MM_PER_INCH
    )


def picture_pixels(content: bytes, *, name: str) -> NDArray[np.uint8]:
    """The pixels (rows, columns, 3) of a picture in sRGB; what has a profile of its own is taken through it.

    Raises
    ------
    UnreadableFile
        It cannot be decoded, or is in ink without a profile.
    """
    from PIL import Image

    opened = _opened(content, name=name)
    try:
        opened.load()
    except (OSError, ValueError, SyntaxError) as failure:
        raise UnreadableFile(
            "the picture is cut short or damaged.", todo="Save it again.", file=name
        ) from failure
    image: Image.Image = opened
    if image.mode in ("RGBA", "LA", "PA") or "transparency" in image.info:
        bare = Image.new("RGBA", image.size, "white")
        image = Image.alpha_composite(bare, image.convert("RGBA"))
    if "icc_profile" in opened.info:
        image = _through_profile(image, opened.info["icc_profile"], name=name)
    elif image.mode == "CMYK":
        raise UnreadableFile(
            "the picture is in ink and carries no profile that says what its inks look like.",
            todo="Save it in RGB.",
            file=name,
        )
    return np.asarray(image.convert("RGB"))


def _through_profile(image: Image.Image, profile: bytes, *, name: str) -> Image.Image:
    from PIL import ImageCms

    kept = image if image.mode in ("RGB", "L", "CMYK") else image.convert("RGB")
    try:
        converted = ImageCms.profileToProfile(
            kept,
            ImageCms.ImageCmsProfile(BytesIO(profile)),
            ImageCms.createProfile("sRGB"),
            renderingIntent=ImageCms.Intent.RELATIVE_COLORIMETRIC,
            outputMode="RGB",
            flags=ImageCms.Flags.BLACKPOINTCOMPENSATION,
        )
    except (ImageCms.PyCMSError, OSError) as failure:
        raise UnreadableFile(
            "the picture's own profile cannot be used.", todo="Save it in sRGB.", file=name
        ) from failure
    assert converted is not None
    return converted


def _opened(content: bytes, *, name: str) -> Image.Image:
    from PIL import Image, UnidentifiedImageError

    try:
        image = Image.open(BytesIO(content))
    except (
        UnidentifiedImageError,
        OSError,
        ValueError,
        SyntaxError,
        Image.DecompressionBombError,
    ) as failure:
        raise UnreadableFile(
            "this is no picture that can be read.", todo="Save it as TIFF, PNG or JPEG.", file=name
        ) from failure
    width, height = image.size
    if width * height > LARGEST_PICTURE.value:
        raise UnreadableFile(
            f"{width} x {height} pixels are more than {LARGEST_PICTURE.value / 1e6:.0f} million.",
            todo="Save it smaller: 300 ppi at actual size are enough.",
            file=name,
        )
    return image
