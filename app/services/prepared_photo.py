"""A photo between its sender and the records: what may come, and what was made of it."""

from dataclasses import dataclass

MEGABYTE = 1024 * 1024
LARGEST_BYTES = 15 * MEGABYTE
"""Of one file as it is sent; telephones send 3 to 8 megabytes."""
MOST_PIXELS = 50_000_000
"""Of one file; unpacked, each takes three or four bytes."""
LONGEST_SIDE = 2400
"""Of a photo as it is kept, in pixels: a hairline crack still shows, and a job stays small."""
THUMBNAIL_SIDE = 360
QUALITY = 85
THUMBNAIL_QUALITY = 75
FORMATS = ("JPEG", "PNG", "WEBP")
MOST_OF_A_JOB = 120
"""Photos of one job that stand."""


@dataclass(frozen=True, slots=True)
class PreparedPhoto:
    """Two JPEGs of our own making, upright, without anything that the camera wrote beside."""

    whole: bytes
    thumbnail: bytes
    width: int
    height: int
    """Of the whole one, in pixels."""
    sent_sha256: str
    """Of the file as it came."""


@dataclass(frozen=True, slots=True)
class RefusedPhoto:
    """Why a file cannot be taken: a code of the errors, with the numbers that were met."""

    code: str
    met: int | None = None
