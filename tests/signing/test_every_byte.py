"""Single bytes changed at random places, of a file with a time stamp and of one without.

The places come from a fixed seed, so that a failure can be looked at.
"""

import random
from collections.abc import Callable

import pytest

from app.signing.checking import check_against
from app.signing.trust import Trust
from tests.databases import NOW
from tests.signing.conftest import Signed, Stamped
from tests.signing.test_checking import gap_of

IN_RANGES, IN_GAP = 200, 50
SEED = 20260302


@pytest.fixture(params=["without a stamp", "with a stamp"])
def file(request: pytest.FixtureRequest, signed: Signed, stamped: Stamped) -> tuple[bytes, Trust]:
    return {
        "without a stamp": (signed.pdf, Trust((signed.authority,))),
        "with a stamp": (stamped.pdf, stamped.trust()),
    }[request.param]


def other_byte(chance: random.Random, old: int) -> bytes:
    """Any other byte."""
    return bytes([(old + chance.randrange(1, 256)) % 256])


def other_digit(chance: random.Random, old: int) -> bytes:
    """Any other hexadecimal digit of the same case, so that the gap stays a string of digits."""
    digits = b"0123456789abcdef" if chr(old) in "0123456789abcdef" else b"0123456789ABCDEF"
    if b"%c" % old in b"0123456789":
        digits = b"0123456789"
    return bytes([chance.choice([one for one in digits if one != old])])


def accepted(
    file: tuple[bytes, Trust],
    places: list[int],
    other: Callable[[random.Random, int], bytes],
    chance: random.Random,
) -> list[int]:
    """The places at which a change goes unseen."""
    pdf, trust = file
    assert check_against(pdf, trust, NOW).unaltered, "as it was signed it is accepted"
    found = []
    for at in places:
        changed = pdf[:at] + other(chance, pdf[at]) + pdf[at + 1 :]
        assert changed != pdf
        if check_against(changed, trust, NOW).unaltered:
            found.append(at)
    return found


def test_any_changed_byte_of_the_signed_ranges_is_noticed(file: tuple[bytes, Trust]) -> None:
    chance = random.Random(SEED)
    start, end = gap_of(file[0])
    signed = [*range(start), *range(end, len(file[0]))]
    places = chance.sample(signed, IN_RANGES)
    assert accepted(file, places, other_byte, chance) == []


def test_any_changed_digit_of_the_signature_itself_is_noticed(file: tuple[bytes, Trust]) -> None:
    """Half of the places lie in the signature's bytes, half anywhere up to the end of the gap."""
    chance = random.Random(SEED)
    start, end = gap_of(file[0])
    length = len(file[0][start + 1 : end - 1].rstrip(b"0"))
    places = [
        *chance.sample(range(start + 1, start + 1 + length), IN_GAP // 2),
        *chance.sample(range(start + 1, end - 1), IN_GAP - IN_GAP // 2),
    ]
    assert accepted(file, places, other_digit, chance) == []


def test_any_other_byte_in_the_gap_is_noticed(file: tuple[bytes, Trust]) -> None:
    chance = random.Random(SEED)
    start, end = gap_of(file[0])
    places = [start, end - 1, *chance.sample(range(start, end), IN_GAP - 2)]
    assert accepted(file, places, other_byte, chance) == []
