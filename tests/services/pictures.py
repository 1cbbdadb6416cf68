"""Invented pictures for tests, as cameras and strangers send them."""

import io

from PIL import Image, ImageDraw, PngImagePlugin

from app.services.developing import develop
from app.services.prepared_photo import PreparedPhoto

RED, BLUE = (200, 30, 30), (30, 60, 200)
SECRET = "Hans-Invented-Strasse 7"
"""Written into every place where a camera may write."""
ORIENTATION, MAKER, GPS, LATITUDE = 0x0112, 0x010F, 0x8825, 2


def plain(width: int = 64, height: int = 48, mode: str = "RGB", form: str = "PNG") -> bytes:
    """A picture whose left half is red and whose right half is blue."""
    return saved(halves(width, height).convert(mode), form)


def halves(width: int, height: int) -> Image.Image:
    image = Image.new("RGB", (width, height), BLUE)
    ImageDraw.Draw(image).rectangle((0, 0, width // 2 - 1, height), fill=RED)
    return image


def from_a_camera(width: int = 640, height: int = 480, orientation: int = 1) -> bytes:
    """A JPEG with place, maker, comment and a hidden tail."""
    image = halves(width, height)
    exif = image.getexif()
    exif[ORIENTATION] = orientation
    exif[MAKER] = SECRET
    exif.get_ifd(GPS)[LATITUDE] = (59.0, 20.0, 0.0)
    kept = io.BytesIO()
    image.save(kept, "JPEG", quality=92, exif=exif, comment=SECRET.encode())
    return kept.getvalue() + SECRET.encode()


def png_with_words(width: int = 64, height: int = 48) -> bytes:
    """A PNG with a text beside the picture."""
    words = PngImagePlugin.PngInfo()
    words.add_text("Author", SECRET)
    kept = io.BytesIO()
    halves(width, height).save(kept, "PNG", pnginfo=words)
    return kept.getvalue()


def saved(image: Image.Image, form: str) -> bytes:
    kept = io.BytesIO()
    image.save(kept, form)
    return kept.getvalue()


def opened(content: bytes) -> Image.Image:
    """A picture with its pixels read."""
    image = Image.open(io.BytesIO(content))
    image.load()
    return image


def prepared(width: int = 64, height: int = 48) -> PreparedPhoto:
    """A photo that is ready to be added; each size is another photo."""
    made = develop(plain(width, height))
    assert isinstance(made, PreparedPhoto)
    return made
