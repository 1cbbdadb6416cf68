"""What becomes of a file that a camera, or somebody else, has sent."""

import io
import zlib

import pytest
from PIL import Image, ImageCms

from app.errors import BadInput
from app.services.darkroom import Darkroom
from app.services.developing import develop
from app.services.prepared_photo import (
    LARGEST_BYTES,
    LONGEST_SIDE,
    MOST_PIXELS,
    THUMBNAIL_SIDE,
    PreparedPhoto,
    RefusedPhoto,
)
from tests.services.pictures import SECRET, from_a_camera, opened, plain, png_with_words, saved


def developed(content: bytes) -> PreparedPhoto:
    made = develop(content)
    assert isinstance(made, PreparedPhoto), made
    return made


def looks_red(pixel: object) -> bool:
    assert isinstance(pixel, tuple)
    return bool(pixel[0] > 150 and pixel[2] < 90)


@pytest.mark.parametrize("form", ["JPEG", "PNG", "WEBP"])
def test_each_format_becomes_a_jpeg_with_a_thumbnail(form: str) -> None:
    made = developed(plain(1000, 600, form=form))
    whole, thumbnail = opened(made.whole), opened(made.thumbnail)
    assert (whole.format, thumbnail.format) == ("JPEG", "JPEG")
    assert whole.size == (made.width, made.height) == (1000, 600)
    assert thumbnail.size == (THUMBNAIL_SIDE, 216)
    assert looks_red(whole.getpixel((100, 300)))
    assert not looks_red(whole.getpixel((900, 300)))


def test_nothing_that_the_camera_wrote_beside_the_picture_is_kept() -> None:
    for sent in (from_a_camera(), png_with_words()):
        assert SECRET.encode() in sent
        made = developed(sent)
        for kept in (made.whole, made.thumbnail):
            image = opened(kept)
            assert SECRET.encode() not in kept
            assert dict(image.getexif()) == {}
            assert set(image.info) <= {"jfif", "jfif_version", "jfif_unit", "jfif_density"}
            assert kept.endswith(b"\xff\xd9"), "nothing follows the end of the picture"


@pytest.mark.parametrize(
    ("orientation", "red_at"),
    [(1, (10, 240)), (3, (630, 240)), (6, (240, 10)), (8, (240, 630))],
)
def test_a_photo_stands_upright_however_the_camera_was_held(
    orientation: int, red_at: tuple[int, int]
) -> None:
    """EXIF tags 6 and 8 turn the picture by a quarter: width and height change places."""
    made = developed(from_a_camera(640, 480, orientation))
    whole = opened(made.whole)
    assert whole.size == ((640, 480) if orientation in (1, 3) else (480, 640))
    assert looks_red(whole.getpixel(red_at))


def test_a_large_photo_is_kept_smaller_and_in_its_shape() -> None:
    made = developed(plain(6000, 4000, form="JPEG"))
    assert (made.width, made.height) == (LONGEST_SIDE, LONGEST_SIDE * 2 // 3)


def test_a_small_photo_is_not_blown_up() -> None:
    made = developed(plain(40, 30))
    assert (made.width, made.height) == (40, 30)
    assert opened(made.thumbnail).size == (40, 30)


@pytest.mark.parametrize("mode", ["L", "LA", "RGBA", "P", "1", "CMYK"])
def test_every_kind_of_pixel_is_shown(mode: str) -> None:
    form = "JPEG" if mode == "CMYK" else "PNG"
    assert opened(developed(plain(mode=mode, form=form)).whole).mode == "RGB"


def test_what_was_transparent_is_white() -> None:
    made = developed(saved(Image.new("RGBA", (20, 20), (0, 0, 0, 0)), "PNG"))
    assert opened(made.whole).getpixel((10, 10)) == (255, 255, 255)


def test_colours_of_another_profile_are_turned_into_the_usual_ones() -> None:
    """A grey of half the light, marked as linear, is about 188 of 255 in sRGB (IEC 61966-2-1)."""
    image = Image.new("RGB", (20, 20), (128, 128, 128))
    kept = io.BytesIO()
    image.save(kept, "PNG", icc_profile=linear_profile())
    grey = opened(developed(kept.getvalue()).whole).getpixel((10, 10))
    assert isinstance(grey, tuple)
    assert all(abs(part - 188) <= 3 for part in grey)


def linear_profile() -> bytes:
    """The profile of sRGB with its curve replaced by a straight line (ICC.1, type `curv`)."""
    profile = bytearray(ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes())
    for place in range(128 + 4, 128 + 4 + 12 * int.from_bytes(profile[128:132], "big"), 12):
        if bytes(profile[place : place + 4]) in (b"rTRC", b"gTRC", b"bTRC"):
            start = int.from_bytes(profile[place + 4 : place + 8], "big")
            profile[start : start + 12] = b"curv" + bytes(8)
            profile[place + 8 : place + 12] = (12).to_bytes(4, "big")
    return bytes(profile)


@pytest.mark.parametrize(
    "content",
    [
        b"<html><script>alert(1)</script></html>",
        b"<svg xmlns='http://www.w3.org/2000/svg'/>",
        b"GIF89a" + bytes(40),
        plain(form="GIF"),
        plain(form="BMP"),
        plain(form="TIFF"),
        plain()[:60],
        plain(form="JPEG")[:300],
        b"\x89PNG\r\n\x1a\n" + bytes(100),
        b"\xff\xd8\xff" + bytes(100),
        b"RIFF" + bytes(4) + b"WEBPVP8 " + bytes(60),
        bytes(1000),
    ],
)
def test_what_is_no_photo_is_refused(content: bytes) -> None:
    assert develop(content) == RefusedPhoto("photo_unreadable")


def test_a_small_file_that_unpacks_to_gigabytes_is_refused_before_it_is_unpacked() -> None:
    """900 million pixels in a file of a few bytes: only its header is ever read."""
    bomb = bytearray(plain())
    bomb[16:24] = (30_000).to_bytes(4, "big") * 2
    bomb[29:33] = zlib.crc32(bomb[12:29]).to_bytes(4, "big")
    assert develop(bytes(bomb)) == RefusedPhoto("photo_too_many_pixels")
    width = MOST_PIXELS // 5000 + 1
    huge = saved(Image.new("1", (width, 5000)), "PNG")
    assert len(huge) < 20_000
    assert develop(huge) == RefusedPhoto("photo_too_many_pixels", width * 5000)


def test_a_file_over_the_limit_is_not_even_handed_on() -> None:
    darkroom = Darkroom(own_process=False)
    with pytest.raises(BadInput, match="photo_too_large") as refused:
        darkroom.prepare(bytes(LARGEST_BYTES + 1))
    assert refused.value.problems[0].facts == {"met_mb": 15.0, "limit_mb": 15}
    with pytest.raises(BadInput, match="photo_empty"):
        darkroom.prepare(b"")


def test_the_process_of_its_own_gives_the_same_and_outlives_bad_files() -> None:
    darkroom = Darkroom()
    try:
        good = plain(300, 200, form="JPEG")
        assert darkroom.prepare(good) == develop(good)
        with pytest.raises(BadInput, match="photo_unreadable") as refused:
            darkroom.prepare(b"no photo", "photos.2")
        assert refused.value.problems[0].field == "photos.2"
        assert darkroom.prepare_all([good, good])[1] == develop(good)
    finally:
        darkroom.close()
