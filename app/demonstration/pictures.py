"""Pictures for the demonstration: drawn, and said on them to be so. No camera has seen them."""

import io

from PIL import Image, ImageDraw, ImageFont

SIZE = (1200, 800)
FLOOR, METAL, SHADE, WELD, DARK = "#8a8780", "#a9adb1", "#767b80", "#5d6064", "#16181a"
TYRE, PAINT = "#2a2c2e", "#2f6a78"
HEAD, LEFT_SPAR, RIGHT_SPAR = (600, 250), (250, 700), (950, 700)
CRACK = ((455, 355), (467, 375), (487, 382), (494, 406), (513, 410), (522, 432))


def cracked_head() -> bytes:
    """A steering head from above with its two spars, and a crack in the left one beside its
    weld."""
    image, pen = _sheet()
    for end in (LEFT_SPAR, RIGHT_SPAR):
        pen.line([HEAD, end], fill=SHADE, width=150)
        pen.line([HEAD, end], fill=METAL, width=110)
    pen.ellipse(_round(HEAD, 150), fill=WELD)
    pen.ellipse(_round(HEAD, 130), fill=METAL)
    pen.ellipse(_round(HEAD, 70), fill=DARK)
    pen.line(CRACK, fill=DARK, width=6, joint="curve")
    return _signed(image, pen)


def as_it_came_in() -> bytes:
    """A machine from its right side, upright."""
    image, pen = _sheet()
    for hub in ((300, 560), (900, 560)):
        pen.ellipse(_round(hub, 170), fill=TYRE)
        pen.ellipse(_round(hub, 120), fill=FLOOR)
        pen.ellipse(_round(hub, 24), fill=WELD)
    pen.line([(900, 560), (790, 220)], fill=METAL, width=34)
    pen.line([(300, 560), (560, 520), (620, 300), (800, 250)], fill=SHADE, width=40, joint="curve")
    pen.polygon([(470, 300), (770, 240), (740, 370), (520, 390)], fill=PAINT)
    pen.rectangle((500, 420, 690, 580), fill=WELD)
    pen.line([(790, 220), (730, 170)], fill=DARK, width=22)
    return _signed(image, pen)


def _sheet() -> tuple[Image.Image, ImageDraw.ImageDraw]:
    image = Image.new("RGB", SIZE, FLOOR)
    return image, ImageDraw.Draw(image)


def _round(centre: tuple[int, int], radius: int) -> tuple[int, int, int, int]:
    x, y = centre
    return (x - radius, y - radius, x + radius, y + radius)


def _signed(image: Image.Image, pen: ImageDraw.ImageDraw) -> bytes:
    """The picture as a camera would send it, with the words that tell it from a photo."""
    words = "Drawn for the demonstration. Invented."
    pen.text((30, SIZE[1] - 60), words, fill=DARK, font=ImageFont.load_default(36))
    kept = io.BytesIO()
    image.save(kept, "JPEG", quality=88)
    return kept.getvalue()
