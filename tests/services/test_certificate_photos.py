"""The photos of a certificate: those that were chosen, small, the same bytes each time."""

import hashlib
import io
from typing import Any

import pikepdf
import pytest
from PIL import Image

from app.documents.certificate import print_certificate
from app.documents.photos import LONGEST_SIDE, for_print
from app.errors import Conflict, Unavailable
from app.services import photo_sharing, photos
from app.services.certificate_photos import MOST_PRINTED, pictures_of
from tests.services.certifying import Bench, text_of
from tests.services.composed import composed
from tests.services.pictures import opened, prepared


def photograph(job: Bench, width: int, chosen: bool = True, **said: Any) -> int:
    """A photo of that width; each width is another photo."""
    shop = job.workshop
    about, caption = said.get("about"), said.get("caption")
    added = shop.do(photos.add, "technician", job.number, prepared(width, 900), about, caption)
    if chosen:
        shop.do(photo_sharing.share, "inspector", job.number, added.id)
    return added.id


def pictures(job: Bench) -> dict[str, bytes]:
    with job.workshop.database.read() as session:
        return pictures_of(session, job.workshop.people["inspector"], composed(job).content)


def test_without_photos_nothing_is_said_of_them(done: Bench) -> None:
    content = composed(done).content
    assert (content.photos, content.photos_words) == ((), "")


def test_only_chosen_photos_go_on_it_with_what_they_show(done: Bench) -> None:
    photograph(done, 1200, about="item.frame_cracks", caption="left tube")
    photograph(done, 1201, about="zone.fork")
    photograph(done, 1202, caption="in the yard")
    photograph(done, 1203)
    photograph(done, 1204, chosen=False, caption="kept back")
    content = composed(done).content
    assert [one.caption for one in content.photos] == [
        "cracks in the frame: left tube",
        "fork",
        "in the yard",
        "the machine as a whole",
    ]
    assert content.photos_words.startswith("4 of the 5 photos")
    assert all(one.beside.endswith("by Tove") for one in content.photos)


def test_when_none_was_chosen_that_is_said(done: Bench) -> None:
    photograph(done, 1200, chosen=False)
    words = composed(done).content.photos_words
    assert words == "The one photo that the shop keeps of this job was not chosen."
    photograph(done, 1201, chosen=False)
    words = composed(done).content.photos_words
    assert words == "None of the 2 photos that the shop keeps of this job was chosen."


def test_when_all_were_chosen_that_is_said(done: Bench) -> None:
    photograph(done, 1200)
    words = composed(done).content.photos_words
    assert words == "The one photo that the shop keeps of this job. No finding rests on photos."
    photograph(done, 1201)
    assert composed(done).content.photos_words.startswith("All 2 photos that the shop keeps")


def test_a_certificate_shows_so_many_and_says_how_many_there_are(done: Bench) -> None:
    for width in range(MOST_PRINTED + 2):
        photograph(done, 1000 + width)
    content = composed(done).content
    assert len(content.photos) == MOST_PRINTED
    assert content.photos_words.startswith(f"{MOST_PRINTED} of the {MOST_PRINTED + 2} photos")


def test_the_issued_file_holds_each_photo_with_its_words(done: Bench) -> None:
    photograph(done, 1600, caption="wrinkle below the head")
    photograph(done, 1601, caption="both tubes bent")
    pdf = done.pdf(done.issue().number)
    with pikepdf.open(io.BytesIO(pdf)) as file:
        images = [
            one
            for one in file.objects
            if isinstance(one, pikepdf.Stream) and str(one.get("/Subtype", "")) == "/Image"
        ]
        assert [int(one.Width) for one in images] == [LONGEST_SIDE, LONGEST_SIDE]
    text = text_of(pdf, done.press.data_dir)
    assert "wrinkle below the head" in text
    assert "both tubes bent" in text


def test_a_photo_erased_since_is_not_left_out_silently(done: Bench) -> None:
    photo = photograph(done, 1600)
    content = composed(done).content
    done.workshop.do(photos.erase, "owner", done.number, photo, "a face is seen")
    inspector = done.workshop.people["inspector"]
    with (
        done.workshop.database.read() as session,
        pytest.raises(Conflict, match="photo_not_standing"),
    ):
        pictures_of(session, inspector, content)


def test_a_photo_whose_bytes_are_missing_refuses_the_file(done: Bench) -> None:
    photograph(done, 1600)
    made = composed(done)
    with pytest.raises(Unavailable, match="render_refused") as caught:
        print_certificate(made.content, made.data)
    assert made.content.photos[0].name in str(caught.value.facts["reason"])


def test_the_same_record_gives_the_same_bytes_with_photos(done: Bench) -> None:
    photograph(done, 1600)
    made, shown = composed(done), pictures(done)
    first = print_certificate(made.content, made.data, shown)
    assert print_certificate(made.content, made.data, shown) == first
    (photo,) = made.content.photos
    assert hashlib.sha256(shown[photo.name]).hexdigest() == photo.sha256
    assert photo.sha256 in made.data.decode()


@pytest.mark.parametrize("size", [(2400, 1600), (1200, 2000), (300, 200)])
def test_a_photo_for_print_is_small_and_never_enlarged(size: tuple[int, int]) -> None:
    kept = prepared(*size).whole
    small = for_print(kept)
    with opened(small) as image:
        assert max(image.size) == min(max(size), LONGEST_SIDE)
        assert image.size[0] / image.size[1] == pytest.approx(size[0] / size[1], rel=0.01)
        assert (image.format, image.mode, image.info.get("exif")) == ("JPEG", "RGB", None)
        half = image.size[0] // 4
        assert image.getpixel((half, 5))[0] > 180  # type: ignore[index]
    assert for_print(kept) == small


def test_pictures_for_print_take_grey_ones_too() -> None:
    grey = io.BytesIO()
    Image.new("L", (1500, 900), 128).save(grey, "JPEG")
    with opened(for_print(grey.getvalue())) as image:
        assert image.mode == "RGB"
