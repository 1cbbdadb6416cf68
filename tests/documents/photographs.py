"""Invented photos for a certificate: drawn, upright and across, as the shop keeps them."""

import dataclasses
import hashlib
import io

from PIL import Image, ImageDraw

from app.documents.content import CertificateContent, PrintedPhoto

CAPTIONS = (
    "the machine as a whole",
    "frame: wrinkle below the steering head, paint thrown off, seen from the left with the tank "
    "taken off",
    "fork: both tubes bent at the lower yoke",
    "front wheel",
    "cracks in the frame: none at the left engine mount after the paint was taken off",
)


def photograph(place: int) -> bytes:
    """A JPEG of shapes; every third one is upright."""
    size = (1200, 1600) if place % 3 == 2 else (2400, 1600)
    image = Image.new("RGB", size, (90 + 20 * (place % 5), 96, 104))
    draw = ImageDraw.Draw(image)
    for ring in range(12):
        edge = 40 * ring
        box = (edge, edge, size[0] - edge, size[1] - edge)
        draw.ellipse(box, outline=(30 + 15 * ring, 60, 200 - 12 * ring), width=14)
    draw.line((0, 0, *size), fill=(240, 220, 200), width=30)
    kept = io.BytesIO()
    image.save(kept, "JPEG", quality=85)
    return kept.getvalue()


def with_photos(
    content: CertificateContent, count: int
) -> tuple[CertificateContent, dict[str, bytes]]:
    """The content with so many photos, and their bytes by name."""
    pictures = {f"photo-{place:02}.jpg": photograph(place) for place in range(1, count + 1)}
    photos = tuple(
        PrintedPhoto(
            name=name,
            caption=CAPTIONS[place % len(CAPTIONS)],
            beside="added 2 March 2026, 08:20 UTC+01:00 by Tove Lind",
            sha256=hashlib.sha256(picture).hexdigest(),
            photo=place,
        )
        for place, (name, picture) in enumerate(pictures.items(), 1)
    )
    words = f"{count} of the 31 photos that the shop keeps of this job."
    return dataclasses.replace(content, photos=photos, photos_words=words), pictures
