"""Invented photos of a workshop: drawn, with a wall, a floor, a machine and its shade.

Drawn from places and colours that a seed chooses, so that nobody's machine is shown. A faint grain
lies over it, as a sensor leaves one: without it the files would be far smaller than a camera's, and
of noise alone, which no camera takes, they would be far larger and slower to read and write.
"""

import io
import math

from numpy.random import PCG64, Generator
from PIL import Image, ImageChops, ImageDraw, ImageFilter

SIZE = (2400, 1800)
QUALITY = 85
GRAIN = 5
"""Levels of 256, either way, of a pixel's grain."""

Place = tuple[float, float]


def picture(seed: int) -> bytes:
    """One of them as a JPEG as a telephone keeps it. The same seed gives the same picture."""
    chance = Generator(PCG64(seed))
    drawn = workshop(chance)
    machine(ImageDraw.Draw(drawn), chance)
    soft = drawn.filter(ImageFilter.GaussianBlur(2.0))
    kept = io.BytesIO()
    grained(soft, chance).save(kept, "JPEG", quality=QUALITY)
    return kept.getvalue()


def workshop(chance: Generator) -> Image.Image:
    """A wall that grows darker upward, tiles on the floor, a bench with boxes."""
    width, height = SIZE
    light = Image.linear_gradient("L").resize((width, height), Image.Resampling.BICUBIC)
    warm = tuple(int(value) for value in chance.integers(150, 200, 3))
    room = Image.merge("RGB", [light.point(shaded(level)) for level in warm])
    draw = ImageDraw.Draw(room)
    horizon = int(height * 0.7)
    for line in range(horizon, height, 60):
        draw.line((0, line, width, line), fill=(96, 92, 88), width=3)
    for line in range(-width, 2 * width, 240):
        draw.line((width // 2 + line // 4, horizon, line, height), fill=(96, 92, 88), width=3)
    for place in range(8):
        left, tall = 300 * place + int(chance.integers(0, 120)), int(chance.integers(60, 220))
        colour = tuple(int(value) for value in chance.integers(60, 190, 3))
        draw.rectangle((left, horizon - 260 - tall, left + 150, horizon - 260), fill=colour)
    draw.rectangle((0, horizon - 260, width, horizon - 220), fill=(120, 96, 70))
    return room


def shaded(level: int) -> list[int]:
    """Brightness of each step from the upper edge down, for a colour of that level."""
    return [int(level * (0.45 + 0.55 * step / 255.0)) for step in range(256)]


def machine(draw: ImageDraw.ImageDraw, chance: Generator) -> None:
    """Two wheels, tubes, tank and seat, about the middle, on its shade."""
    shift = float(chance.normal(0.0, 60.0))
    rear, front, radius = (620.0 + shift, 1320.0), (1820.0 + shift, 1320.0), 300.0
    draw.ellipse((rear[0] - 300, 1560, front[0] + 300, 1690), fill=(52, 50, 48))
    for middle in (rear, front):
        wheel(draw, middle, radius)
    head, pivot, seat = (1560.0 + shift, 760.0), (1050.0 + shift, 1230.0), (940.0 + shift, 850.0)
    for start, end in ((head, pivot), (head, seat), (seat, pivot), (pivot, rear), (head, front)):
        draw.line((*start, *end), fill=(58, 62, 70), width=52)
        draw.line((*start, *end), fill=(140, 146, 156), width=16)
    paint = tuple(int(value) for value in chance.integers(40, 200, 3))
    draw.polygon([(head[0] - 60, 700), (seat[0] + 40, 690), seat, (head[0] - 140, 900)], fill=paint)
    draw.rectangle((seat[0] - 380, 790, seat[0] + 60, 850), fill=(30, 30, 32))


def wheel(draw: ImageDraw.ImageDraw, middle: Place, radius: float) -> None:
    """A tyre, a rim and its spokes."""
    for size, colour, width in ((radius, (24, 24, 26), 70), (radius - 66, (170, 172, 176), 18)):
        box = (middle[0] - size, middle[1] - size, middle[0] + size, middle[1] + size)
        draw.ellipse(box, outline=colour, width=width)
    for spoke in range(24):
        angle = spoke * math.tau / 24.0
        reach = radius - 80.0
        end = (middle[0] + reach * math.cos(angle), middle[1] + reach * math.sin(angle))
        draw.line((*middle, *end), fill=(186, 188, 192), width=5)


def grained(image: Image.Image, chance: Generator) -> Image.Image:
    """The picture with a grain that is the same in all three colours."""
    width, height = image.size
    grain = Image.frombytes("L", (width, height), chance.bytes(width * height))
    faint = grain.point([step * 2 * GRAIN // 255 for step in range(256)])
    return ImageChops.add(image, Image.merge("RGB", [faint] * 3), offset=-GRAIN)
