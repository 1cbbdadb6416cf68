"""What the shop's signing key proves and what not, and the sheet of fingerprints."""

from app.wording.translation import _, later

GROUP = 4
"""Digits of a fingerprint that are read aloud together."""

SHOP_MADE = (
    later(
        "Proves: a file that this key signed is exactly as it was when it was signed, and was "
        "signed by whoever holds this key."
    ),
    later(
        "Does not prove: who that is. The shop made the key itself; nobody else has looked at the "
        "shop's name in it. That it is this shop's key you know only when you compare the "
        "fingerprint with what the shop tells you by another way: on paper, or by a telephone "
        "number that you know already."
    ),
    later(
        "A program that has not been given this authority calls the signature valid and its "
        "signer unknown. It is no qualified signature. Neither does a signature prove that what "
        "was measured is right."
    ),
)
FROM_ISSUER = (
    later(
        "Proves: a file that this key signed is exactly as it was when it was signed, and was "
        "signed by whoever holds this key."
    ),
    later(
        "Who that is, the issuer of the key vouches for, as far as its own rules go: look at the "
        "name in the signer's certificate. The authority signs for others too; so compare the "
        "signer's fingerprint with what the shop tells you by another way."
    ),
    later("Whether it is a qualified signature the issuer's certificate says, not the shop."),
)


def proof(is_shops_own: bool) -> tuple[str, ...]:
    """Return what a signature with the key proves, and what it does not."""
    return tuple(_(one) for one in (SHOP_MADE if is_shops_own else FROM_ISSUER))


def names_another(name: str) -> str:
    """Return that the key carries a name that the shop has no more; empty without one."""
    if not name:
        return ""
    return _(
        "The signing key still carries the shop's earlier name, {name}: whoever checks a "
        "certificate reads that as its signer, beside the new name at its head."
    ).format(name=name)


def to_compare(is_shops_own: bool) -> str:
    """Return what is done with the fingerprint that has to be compared."""
    if is_shops_own:
        return _(
            "This is the one to compare: with the fingerprint of the authority's certificate that "
            "you check files with, and with the authority's at the end of a certificate."
        )
    return _(
        "This is the one to compare, for the authority signs for others too: with the signer's "
        "fingerprint that your program shows of a file, and with the signer's at its end."
    )


def not_to_compare(is_shops_own: bool) -> str:
    """Return what the other one is for."""
    if is_shops_own:
        return _("It tells which key signed. Under the right authority nothing need be compared.")
    return _("The issuer's, whose other customers are under it too.")


def with_colons(digits: str) -> str:
    """Return the digits of a fingerprint as openssl prints them."""
    return ":".join(digits[at : at + 2].upper() for at in range(0, len(digits), 2))


def in_groups(digits: str) -> str:
    """Return the hexadecimal digits of a fingerprint in groups, to be read aloud."""
    groups = (digits[at : at + GROUP].upper() for at in range(0, len(digits), GROUP))
    return " ".join(groups)
