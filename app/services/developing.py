"""From a file that a camera wrote to photos that are kept: the only place that decodes images.

It runs in a process of its own: a file may be made to unpack to gigabytes or to break a decoder.
What is kept is drawn anew from the pixels alone, so that no place, no serial number and no hidden
second picture travels along.
"""

import hashlib
import io
import warnings

from PIL import Image, ImageCms, ImageFile, ImageOps

from app.services.prepared_photo import (
    FORMATS,
    LONGEST_SIDE,
    MOST_PIXELS,
    QUALITY,
    THUMBNAIL_QUALITY,
    THUMBNAIL_SIDE,
    PreparedPhoto,
    RefusedPhoto,
)

WHITE = (255, 255, 255)


def develop(content: bytes) -> PreparedPhoto | RefusedPhoto:
    """The photo in a file, upright and re-encoded, with its thumbnail; or why there is none."""
    with warnings.catch_warnings():
        # Odd metadata makes the decoder warn; all of it is thrown away.
        warnings.simplefilter("ignore")
        # The maker of PDFs lets half a picture pass, for the whole process that imports it.
        ImageFile.LOAD_TRUNCATED_IMAGES = False
        try:
            return _developed(content)
        except (Image.DecompressionBombError, MemoryError):
            return RefusedPhoto("photo_too_many_pixels")
        except Exception:
            # A decoder fails in as many ways as there are broken files.
            return RefusedPhoto("photo_unreadable")


def _developed(content: bytes) -> PreparedPhoto | RefusedPhoto:
    with Image.open(io.BytesIO(content), formats=FORMATS) as sent:
        pixels = sent.width * sent.height
        if pixels > MOST_PIXELS:
            return RefusedPhoto("photo_too_many_pixels", pixels)
        profile = sent.info.get("icc_profile")
        # Made small before anything else: a large picture lies in memory once, and a JPEG is
        # decoded at about the size that is wanted.
        small = _reduced(_of_plain_pixels(sent), LONGEST_SIDE)
        upright = ImageOps.exif_transpose(small)
    whole = _clean(_in_usual_colours(upright, profile))
    return PreparedPhoto(
        whole=_jpeg(whole, QUALITY),
        thumbnail=_jpeg(_reduced(whole.copy(), THUMBNAIL_SIDE), THUMBNAIL_QUALITY),
        width=whole.width,
        height=whole.height,
        sent_sha256=hashlib.sha256(content).hexdigest(),
    )


def _of_plain_pixels(image: Image.Image) -> Image.Image:
    """The image with pixels that can be averaged: not numbers of a palette, not single bits."""
    if image.mode in {"RGB", "RGBA", "L", "LA", "CMYK"}:
        return image
    return image.convert("RGBA" if "transparency" in image.info else "RGB")


def _reduced(image: Image.Image, longest: int) -> Image.Image:
    """The image itself made smaller, no side longer than this; a small one stays as it is."""
    image.thumbnail((longest, longest), Image.Resampling.LANCZOS, reducing_gap=3.0)
    return image


def _in_usual_colours(image: Image.Image, profile: object) -> Image.Image:
    """The colours as every screen shows them; a heat mark is judged by its colour."""
    if not isinstance(profile, bytes) or image.mode not in {"RGB", "CMYK"}:
        return image
    try:
        source = ImageCms.ImageCmsProfile(io.BytesIO(profile))
        target = ImageCms.createProfile("sRGB")
        turned = ImageCms.profileToProfile(image, source, target, outputMode="RGB")
    except (ImageCms.PyCMSError, OSError):
        return image
    return turned or image


def _clean(image: Image.Image) -> Image.Image:
    """The pixels alone, on white: nothing that came beside them goes on."""
    made = Image.new("RGB", image.size, WHITE)
    if image.mode in {"RGBA", "LA"}:
        made.paste(image.convert("RGB"), mask=image.getchannel("A"))
    else:
        made.paste(image.convert("RGB"))
    return made


def _jpeg(image: Image.Image, quality: int) -> bytes:
    kept = io.BytesIO()
    image.save(kept, "JPEG", quality=quality, optimize=True)
    return kept.getvalue()
