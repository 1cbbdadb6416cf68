"""All of a certificate in one file: what lies in it, and that what it says of checking is true."""

import hashlib
import io
import subprocess
import zipfile
from datetime import UTC, datetime
from pathlib import Path

import pytest

from app.errors import Conflict, NotAllowed, NotFound
from app.services import bundles, certificates, claims, customers, photo_sharing, photos
from app.services.archive import packed
from app.services.bundles import Bundle
from app.services.claim_opening import ClaimView, open_bundle, open_link
from app.signing.authority import FOLDER, authority_pem, fingerprint, found_authority
from app.signing.keys import open_key
from app.signing.renewal import renew_authority
from app.wording.how_to_check import of_certificate
from tests.databases import NOW
from tests.services.certifying import Bench
from tests.services.pictures import prepared
from tests.signing.pages import signed_with

FIRST, SECOND, THIRD = prepared(60, 40), prepared(80, 40), prepared(100, 40)


def unpacked(made: Bundle) -> dict[str, bytes]:
    with zipfile.ZipFile(io.BytesIO(b"".join(made.archive.pieces()))) as opened:
        assert opened.testzip() is None
        return {name: opened.read(name) for name in opened.namelist()}


def bundle(done: Bench, number: str, role: str = "desk") -> Bundle:
    shop = done.workshop
    return shop.see(bundles.bundle, role, number, shop.now, press=done.press)


def with_photos(done: Bench) -> list[int]:
    """Three photos, of which the first and the last go with the claim."""
    made = [
        done.workshop.do(photos.add, "desk", done.number, one, about, caption).id
        for one, about, caption in (
            (FIRST, "zone.tank", "dent"), (SECOND, None, "the bay"), (THIRD, None, "from behind"),
        )
    ]  # fmt: skip
    for place in (0, 2):
        done.workshop.do(photo_sharing.share, "desk", done.number, made[place])
    return made


@pytest.mark.usefixtures("quick")
def test_it_holds_everything_under_fixed_names_and_only_chosen_photos(done: Bench) -> None:
    with_photos(done)
    number = done.issue().number
    made = bundle(done, number)
    assert made.filename == f"{number}.zip"
    files = unpacked(made)
    assert list(files) == [
        f"{number}.pdf", f"{number}.json", "photo-0001.jpg", "photo-0003.jpg", "photos.txt",
        "shop-authority.pem", "how-to-check.txt",
    ]  # fmt: skip
    assert files[f"{number}.pdf"] == done.pdf(number)
    data = files[f"{number}.json"]
    view = done.workshop.see(certificates.certificate, "desk", number)
    assert hashlib.sha256(data).hexdigest() == view.data_sha256
    assert (files["photo-0001.jpg"], files["photo-0003.jpg"]) == (FIRST.whole, THIRD.whole)
    captions = files["photos.txt"].decode()
    assert "dent" in captions
    assert hashlib.sha256(THIRD.whole).hexdigest() in captions
    assert "the bay" not in captions
    assert files["shop-authority.pem"] == authority_pem(done.press.data_dir / FOLDER)


@pytest.mark.usefixtures("quick")
def test_the_same_moment_gives_the_same_bytes(done: Bench) -> None:
    with_photos(done)
    number = done.issue().number
    first, second = (b"".join(bundle(done, number).archive.pieces()) for _ in range(2))
    assert first == second
    with bundle(done, number).archive as third:
        assert third.size == len(first)


@pytest.mark.usefixtures("quick")
def test_it_says_what_the_register_says_now(done: Bench) -> None:
    number = done.issue().number
    assert "In force" in unpacked(bundle(done, number))["how-to-check.txt"].decode()
    done.workshop.do(certificates.withdraw, "inspector", number, "another machine")
    said = unpacked(bundle(done, number))["how-to-check.txt"].decode()
    assert "Not in force: withdrawn" in said


@pytest.mark.usefixtures("quick")
def test_an_older_certificate_comes_with_the_authority_that_it_names(done: Bench) -> None:
    number = done.issue().number
    before = authority_pem(done.press.data_dir / FOLDER)
    renew_authority(done.press.data_dir / FOLDER, "Shop", None, done.workshop.now)
    files = unpacked(bundle(done, number))
    assert files["shop-authority.pem"] == before != authority_pem(done.press.data_dir / FOLDER)


@pytest.mark.usefixtures("quick")
def test_nobody_who_writes_waits_for_it(done: Bench) -> None:
    """It is made while another holds the write lock."""
    with_photos(done)
    number = done.issue().number
    with done.workshop.database.write():
        assert unpacked(bundle(done, number))


def test_without_a_certificate_there_is_none(done: Bench) -> None:
    with pytest.raises(NotFound, match="no_such_certificate"):
        bundle(done, "C-2026-0009")


@pytest.mark.usefixtures("quick")
def test_a_photo_goes_with_the_claim_only_when_somebody_chose_it(done: Bench) -> None:
    made = with_photos(done)
    done.issue()
    shop = done.workshop
    link = shop.do(claims.create_link, "desk", done.number, note="adjuster")

    def shown() -> list[int]:
        view = open_link(shop.database, link.token, shop.now, address="")
        assert isinstance(view, ClaimView)
        return [one.id for one in view.photos]

    assert shown() == [made[0], made[2]]
    shop.do(photo_sharing.keep_back, "owner", done.number, made[0])
    assert shown() == [made[2]]
    shop.do(photos.take_out, "desk", done.number, made[2], "blurred")
    assert shown() == []
    with pytest.raises(Conflict, match="photo_not_standing"):
        shop.do(photo_sharing.share, "desk", done.number, made[2])
    with pytest.raises(NotAllowed):
        shop.do(photo_sharing.share, "technician", done.number, made[1])


@pytest.mark.usefixtures("quick")
def test_erasing_the_customer_takes_the_photos_out_of_every_bundle(done: Bench) -> None:
    with_photos(done)
    number = done.issue().number
    shop = done.workshop
    assert "photos.txt" in unpacked(bundle(done, number))
    shop.do(customers.erase, "owner", 1, "asked for it")
    link = shop.do(claims.create_link, "desk", done.number, note="adjuster")
    made = open_bundle(shop.database, link.token, number, shop.now, press=done.press, address="")
    for one in (made, bundle(done, number)):
        assert [name for name in unpacked(one) if name.startswith("photo")] == []


def test_what_it_says_of_checking_is_true_of_a_signed_file(tmp_path: Path) -> None:
    """Its own commands, one after the other, by the machine's clock as pdfsig goes by it."""
    now = datetime.now(UTC)
    keys = found_authority(tmp_path, "Brook Lane Frames", now)
    pdf, pem = signed_with(open_key(keys, None, now), now), authority_pem(keys)
    folder = tmp_path / "unpacked"
    folder.mkdir()
    (folder / "C-2026-0001.pdf").write_bytes(pdf)
    (folder / "shop-authority.pem").write_bytes(pem)
    digest = hashlib.sha256(pdf).hexdigest()
    steps = of_certificate("C-2026-0001.pdf", digest, fingerprint(pem), "In force.", "")
    asked = [step for step in steps if step.commands]
    assert len(asked) == 3
    for step in asked:
        for command in step.commands:
            done = subprocess.run(command.split(), cwd=folder, capture_output=True, check=True)
        said = done.stdout.decode()
        assert all(answer in said for answer in step.answers), said
        if "fingerprint" in step.commands[-1]:
            assert said.strip().lower().replace(":", "").endswith(fingerprint(pem))


def test_a_large_zip_is_not_held_in_memory(tmp_path: Path) -> None:
    made = packed(((f"{place}.jpg", bytes(3_000_000)) for place in range(3)), NOW)
    assert made.size > 9_000_000
    largest = max(len(piece) for piece in made.pieces())
    assert largest <= 256_000
    assert made.file.closed
