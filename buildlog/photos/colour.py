"""A picture's colours as sRGB in eight bits and without alpha, whatever they were stored as."""

from __future__ import annotations

import io
from itertools import product

from PIL import Image, ImageCms

PROBE = Image.new("RGB", (125, 1))
PROBE.putdata(list(product((0, 64, 128, 192, 255), repeat=3)))
"Colours spread over all of RGB: a profile that leaves these alone is sRGB by another name."


def flatten(image: Image.Image) -> Image.Image:
    """The picture in 8 bits and without alpha: what shows through is white, as on paper."""
    if image.mode.startswith("I"):
        # 16 bits in one channel: the upper eight are kept, as Pillow does by itself for more channels.
        return image.convert("I").point(lambda value: value * (1 / 256)).convert("L")
    if image.mode in ("RGBA", "LA", "PA") or "transparency" in image.info:
        whole = image if image.mode == "RGBA" else image.convert("RGBA")
        ground = Image.new("RGB", whole.size, "white")
        ground.paste(whole, mask=whole)
        return ground
    return image if image.mode in ("L", "RGB", "CMYK") else image.convert("RGB")


def convert_to_srgb(image: Image.Image, profile: bytes | None) -> Image.Image:
    """The colours as sRGB shows them, so that nothing is lost when the profile is left out of the variants."""
    if not profile:
        return image if image.mode == "RGB" else image.convert("RGB")
    try:
        convert = ImageCms.buildTransform(
            ImageCms.ImageCmsProfile(io.BytesIO(profile)),
            ImageCms.createProfile("sRGB"),
            image.mode,
            "RGB",
            renderingIntent=ImageCms.Intent.RELATIVE_COLORIMETRIC,
        )
        if image.mode == "RGB" and _is_identity(convert):
            return image
        made = ImageCms.applyTransform(image, convert)
    except (ImageCms.PyCMSError, OSError, ValueError):  # a profile that cannot be used, or is for other channels
        return image.convert("RGB")
    return made if made is not None else image


def _is_identity(convert: ImageCms.ImageCmsTransform) -> bool:
    """Whether no probe colour moves by more than one step: most phones name sRGB, and converting costs a tenth."""
    made = ImageCms.applyTransform(PROBE, convert)
    return (
        made is not None
        and max(abs(one - other) for one, other in zip(made.tobytes(), PROBE.tobytes(), strict=True)) <= 1
    )


def mix(image: Image.Image) -> str:
    """The mean colour, `#rrggbb`."""
    pixel = image.resize((1, 1), Image.Resampling.BOX).getpixel((0, 0))
    return "#" + bytes(pixel).hex() if isinstance(pixel, tuple) else "#808080"
