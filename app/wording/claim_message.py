"""The mail with which a certificate goes to an adjuster, in plain words."""

from app.wording.jobs import kind as kind_words
from app.wording.translation import _, counted


def subject(kind: str, number: str, claim: str) -> str:
    """Return the subject; `claim` is the insurer's number, or empty."""
    named = _("claim {number}").format(number=claim) if claim else ""
    return ", ".join(filter(None, [f"{capital(kind_words(kind))} {number}", named]))


def about_job(number: str, claim: str) -> str:
    """Return the subject of a mail that carries a link to a job; `claim` may be empty."""
    named = _("claim {number}").format(number=claim) if claim else ""
    return ", ".join(filter(None, [_("Job {number}").format(number=number), named]))


def with_link(machine: str, address: str, until: str) -> str:
    """Return what a mail with a link says."""
    told = _(
        "{machine}: the certificates, and the photos that go with the claim, are seen here until "
        "{until}:\n\n{address}\n"
    )
    return told.format(machine=machine, until=until, address=address)


def with_zip(number: str, file: str) -> str:
    """Return the beginning of a mail to which the zip is still to be attached by hand."""
    return _(
        "This is about certificate {number}. The file {file} holds it as signed (PDF), its data, "
        "the photos that go with the claim, and how to check all of that with free tools.\n"
    ).format(number=number, file=file)


def body(
    *,
    number: str,
    kind: str,
    machine: str,
    moment: str,
    standing: str,
    finding: str,
    photos: int,
    address: str,
    shop: str,
) -> str:
    """Return what the mail says.

    moment: when it is written. standing: what the register says of the certificate then, a
    sentence. finding: in its own words; empty where it is not in force. address: where that is
    asked again, or empty.
    """
    paragraphs = (
        _("{Kind} {number} for {machine}.").format(
            Kind=capital(kind_words(kind)), number=number, machine=machine
        ),
        finding,
        _("When this was written, {moment}: {standing}").format(moment=moment, standing=standing),
        held(number, photos),
        asked_again(address),
        shop,
    )
    return "\n\n".join(filter(None, paragraphs)) + "\n"


def held(number: str, photos: int) -> str:
    """What lies in the attached file, a line each."""
    lines = (
        _("Attached is {file}. It holds:").format(file=f"{number}.zip"),
        _("- {file}: the signed certificate").format(file=f"{number}.pdf"),
        _("- {file}: the same as data for programs").format(file=f"{number}.json"),
        counted(
            "- {count} photo, and what it shows in photos.txt",
            "- {count} photos, and what they show in photos.txt",
            photos,
        ).format(count=photos)
        if photos
        else "",
        _("- shop-authority.pem: the shop's own certificate, to check the signature with"),
        _("- how-to-check.txt: how anybody checks all of that with free tools"),
    )
    return "\n".join(filter(None, lines))


def asked_again(address: str) -> str:
    """Where to ask whether it is still in force."""
    if address:
        return _("Whether it is still in force is told here: {address}").format(address=address)
    return _("Whether it is still in force only the shop can tell: please ask when it matters.")


def capital(text: str) -> str:
    """The words with a capital at their beginning."""
    return text[:1].upper() + text[1:]
