"""How somebody who was sent a certificate, or the register, checks it with free tools."""

from collections.abc import Sequence
from dataclasses import dataclass

from app.wording.signing_key import in_groups, with_colons
from app.wording.translation import _

AUTHORITY = "shop-authority.pem"
SIGNATURE = "register.json.p7s"
REGISTER = "register.json"


@dataclass(frozen=True, slots=True)
class Step:
    """One question, what to do to answer it, and how the answer must read."""

    question: str
    lines: tuple[str, ...]
    commands: tuple[str, ...] = ()
    answers: tuple[str, ...] = ()
    """What the last command must say, word by word."""
    otherwise: str = ""
    """What does as well."""


def of_certificate(
    file: str, digest: str, authority_sha256: str, standing: str, address: str
) -> tuple[Step, ...]:
    """Return the steps for a certificate's file.

    standing: what the register says of it now, a sentence. address: where that is asked, or empty.
    """
    ask = (
        _("Ask again when it matters: {address}").format(address=address)
        if address
        else _("Ask the shop again when it matters: no file can tell.")
    )
    return (
        Step(_("Is it still in force?"), (standing, ask)),
        Step(
            _("Is the file unaltered, and was it signed under this authority?"),
            (_("On Debian or Ubuntu, with the packages poppler-utils and libnss3-tools:"),),
            (
                "mkdir trusted",
                "certutil -N -d sql:trusted --empty-password",
                f"certutil -A -d sql:trusted -n shop -t ,C, -i {AUTHORITY}",
                f"pdfsig -nssdir sql:trusted {file}",
            ),
            ("Total document signed", "Signature is Valid.", "Certificate is Trusted."),
            _(
                "Any other program for signed PDF files does as well, once {authority} is among "
                "the authorities that it trusts for signatures."
            ).format(authority=AUTHORITY),
        ),
        authority_step(authority_sha256),
        Step(
            _("Is it the very file that stands in the register?"),
            (_("The register of the shop holds this digest of it:"),),
            (f"sha256sum {file}",),
            (digest,),
        ),
    )


def of_register(authority_sha256: str) -> tuple[Step, ...]:
    """Return the steps for the signed export of the register."""
    return (
        Step(
            _("Is the list unaltered, and was it signed under this authority?"),
            (_("With OpenSSL:"),),
            (
                f"openssl cms -verify -binary -inform DER -in {SIGNATURE} -content {REGISTER} "
                f"-CAfile {AUTHORITY} -out checked.json",
            ),
            ("Verification successful",),
        ),
        authority_step(authority_sha256),
        Step(
            _("Is a certificate in it the one that you hold?"),
            (
                _(
                    "Compare the digest of your file with pdf_sha256 on its line. The list says "
                    "what was in force when it was made, and nothing of later."
                ),
            ),
            ("sha256sum C-2026-0001.pdf",),
        ),
        Step(
            _("Is it in force?"),
            (
                _(
                    "The word under status says it: valid is in force; superseded is replaced, by "
                    "the number under replaced_by; withdrawn is withdrawn; distrusted is signed "
                    "with a key that the shop trusts no more; issuing is being made; void was "
                    "never issued. Only valid is in force."
                ),
            ),
        ),
        Step(
            _("Does the table say the same?"),
            (_("Its digest stands in {register} as csv_sha256.").format(register=REGISTER),),
            ("sha256sum register.csv",),
        ),
    )


def authority_step(sha256: str) -> Step:
    """The step that no file can replace."""
    return Step(
        _("Is it this shop's authority?"),
        (
            _(
                "Compare the fingerprint with what the shop tells you by another way: on paper, or "
                "by a telephone number that you know already. It must be:"
            ),
            in_groups(sha256),
            _("openssl prints the same with colons: {digits}").format(digits=with_colons(sha256)),
        ),
        (f"openssl x509 -in {AUTHORITY} -noout -fingerprint -sha256",),
    )


def as_text(title: str, steps: Sequence[Step], proof: Sequence[str]) -> str:
    """Return the steps as a text file."""
    lines = [title, "=" * len(title), ""]
    for place, step in enumerate(steps, 1):
        lines += [f"{place}. {step.question}", "", *step.lines, ""]
        if step.commands:
            lines += [*(f"    {one}" for one in step.commands), ""]
        if step.answers:
            lines += [_("It must say:"), "", *(f"    {one}" for one in step.answers), ""]
        lines += [step.otherwise, ""] if step.otherwise else []
    lines += [_("What the signature proves"), "", *proof, ""]
    return "\n".join(lines)
