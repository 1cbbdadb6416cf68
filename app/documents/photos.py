"""Photos made small for print: sRGB, without anything beside the pixels."""

import io

from PIL import Image

LONGEST_SIDE = 1200
"""Pixels; 84 mm wide this is 360 to the inch. The largest photo that the shop keeps is twice as
long, and so is decoded at this very size."""
QUALITY = 80


def for_print(kept: bytes) -> bytes:
    """The photo as a JPEG small enough for a document. The same bytes give the same."""
    with Image.open(io.BytesIO(kept), formats=["JPEG"]) as photo:
        # Decoded at about the size that is wanted, which is the quicker the larger the photo is;
        # the decoder takes the side that is the least smaller for its measure.
        width, height = photo.size
        longest = max(width, height, LONGEST_SIDE)
        photo.draft("RGB", (width * LONGEST_SIDE // longest, height * LONGEST_SIDE // longest))
        photo.thumbnail((LONGEST_SIDE, LONGEST_SIDE), Image.Resampling.LANCZOS, reducing_gap=2.0)
        small = Image.new("RGB", photo.size)
        small.paste(photo)
    written = io.BytesIO()
    small.save(written, "JPEG", quality=QUALITY)
    return written.getvalue()
