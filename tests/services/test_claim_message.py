"""The mail about a certificate as a file: read back by the standard library's own parser."""

import email
from email.message import EmailMessage
from email.policy import default

import pytest

from app.errors import Conflict, NotAllowed, NotFound
from app.records.scope import scoped
from app.records.tables import Claim, Event, Insurer
from app.services import bundles, certificates, claim_message, photo_sharing, photos
from app.services.claim_message import MessageFile
from app.services.press import Press
from tests.services.certifying import Bench
from tests.services.pictures import prepared

pytestmark = pytest.mark.usefixtures("quick")
ADJUSTER = "claims.77@invented-mutual.test"


def made(done: Bench, number: str, role: str = "desk") -> MessageFile:
    shop = done.workshop
    return shop.see(claim_message.message, role, number, shop.now, press=done.press)


def read(file: MessageFile) -> EmailMessage:
    found = email.message_from_bytes(file.content, policy=default)
    assert isinstance(found, EmailMessage)
    assert found.defects == []
    return found


def text_of(mail: EmailMessage) -> str:
    body = mail.get_body()
    assert body is not None
    text: str = body.get_content()
    return text


def put_addresses(done: Bench, adjuster: str, insurer: str = "") -> None:
    """As the desk typed them in: any text of one line."""
    shop = done.workshop
    with shop.database.write() as session:
        session.scalars(
            scoped(session, shop.people["owner"], Claim)
        ).one().adjuster_email = adjuster
        session.scalars(scoped(session, shop.people["owner"], Insurer)).one().email = insurer


def test_the_zip_comes_back_byte_for_byte_and_the_words_are_plain(done: Bench) -> None:
    for size, chosen in ((60, True), (80, False)):
        photo = done.workshop.do(photos.add, "desk", done.number, prepared(size), None, "dent")
        if chosen:
            done.workshop.do(photo_sharing.share, "desk", done.number, photo.id)
    number = done.issue().number
    file = made(done, number)
    assert file.filename == f"{number}.eml"
    mail = read(file)
    assert mail["Subject"] == f"Completion certificate {number}, claim CL/2026-77"
    (attached,) = mail.iter_attachments()
    assert (attached.get_filename(), attached.get_content_type()) == (
        f"{number}.zip", "application/zip",
    )  # fmt: skip
    shop = done.workshop
    bundle = shop.see(bundles.bundle, "desk", number, shop.now, press=done.press)
    assert attached.get_content() == b"".join(bundle.archive.pieces())
    text = text_of(mail)
    for said in (
        f"Completion certificate {number} for Fjordmark Skarv 700, ZZZTEST00A1000017.",
        "required characteristic", f"Attached is {number}.zip.", "- 1 photo,", "how-to-check.txt",
        "In force, since 2 March 2026", "only the shop can tell", "Invented Workshop",
    ):  # fmt: skip
        assert said in text, said


def test_it_is_a_draft_that_names_no_sender(done: Bench) -> None:
    mail = read(made(done, done.issue().number))
    assert mail["X-Unsent"] == "1"
    assert not {"from", "sender", "reply-to", "cc", "bcc", "date", "message-id"} & {
        name.lower()
        for name in mail.keys()  # noqa: SIM118
    }


def test_it_is_plain_seven_bit_lines_that_no_mail_service_minds(done: Bench) -> None:
    content = made(done, done.issue().number).content
    assert content.isascii()
    lines = content.split(b"\r\n")
    assert max(map(len, lines)) <= 78
    assert b"*0*" not in content, "no parameter is folded in pieces, which old programs misread"
    assert all(b"\n" not in line and b"\r" not in line for line in lines)


def test_the_same_moment_gives_the_same_bytes(done: Bench) -> None:
    number = done.issue().number
    assert made(done, number) == made(done, number)


@pytest.mark.parametrize(
    ("adjuster", "insurer", "to"),
    [
        ("", "", None),
        (ADJUSTER, "", ADJUSTER),
        ("", "office@invented.test", "office@invented.test"),
        (ADJUSTER, "office@invented.test", ADJUSTER),
        ("ask at the office", "office@invented.test", "office@invented.test"),
        ("one@a.test, two@b.test", "", None),
        ("Åse <one@a.test>", "", None),
        ("one@a.test\r\nBcc: two@b.test", "", None),
        ("åse@a.test", "", None),
        ("one@@a.test", "", None),
        ("one.@a.test", "", None),
    ],
)
def test_it_is_addressed_only_where_a_plain_address_is_on_record(
    done: Bench, adjuster: str, insurer: str, to: str | None
) -> None:
    put_addresses(done, adjuster, insurer)
    mail = read(made(done, done.issue().number))
    assert mail["To"] == to
    assert "two@b.test" not in mail.as_string().partition("\n\n")[0]


def test_what_is_not_in_force_says_so_and_tells_no_finding(done: Bench) -> None:
    number = done.issue().number
    done.workshop.do(certificates.withdraw, "inspector", number, "another machine")
    text = text_of(read(made(done, number)))
    assert "Not in force: withdrawn" in text
    assert "required characteristic" not in text


def test_where_the_shop_has_an_address_the_mail_says_where_to_ask(done: Bench) -> None:
    number = done.issue().number
    folder = done.press.data_dir
    done.press = Press(folder, "https://shop.invented.test", own_process=False)
    text = text_of(read(made(done, number)))
    assert f"is told here: https://shop.invented.test/verify/{number}" in text


def test_a_zip_too_large_for_a_mail_is_refused_with_its_size(
    done: Bench, monkeypatch: pytest.MonkeyPatch
) -> None:
    number = done.issue().number
    size = len(next(read(made(done, number)).iter_attachments()).get_content())
    monkeypatch.setattr(claim_message, "MOST_BYTES", size)
    made(done, number)
    monkeypatch.setattr(claim_message, "MOST_BYTES", size - 1)
    with pytest.raises(Conflict, match="message_too_large") as caught:
        made(done, number)
    assert caught.value.facts["number"] == number
    assert caught.value.facts["limit_mb"] == f"{(size - 1) / 1e6:.1f}"


def test_only_who_may_make_links_gets_it_and_nothing_is_written(done: Bench) -> None:
    number = done.issue().number
    with done.workshop.database.read() as session:
        before = len(session.scalars(scoped(session, done.workshop.people["owner"], Event)).all())
    for role in ("desk", "inspector", "owner"):
        assert made(done, number, role).content
    with pytest.raises(NotAllowed):
        made(done, number, "technician")
    with pytest.raises(NotFound, match="no_such_certificate"):
        made(done, "C-2026-9999")
    with done.workshop.database.read() as session:
        after = len(session.scalars(scoped(session, done.workshop.people["owner"], Event)).all())
    assert after == before, "like the zip itself"
