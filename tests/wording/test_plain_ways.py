"""Which way a part is off, in the words of its owner."""

import re

from app.chassis.senses import OF_DEVIATION
from app.wording import plain_ways, plainly
from app.wording.plainly import Parts

MINUS = re.compile("[-\N{MINUS SIGN}][0-9]")


def test_every_deviation_has_its_words() -> None:
    codes = {code for row in OF_DEVIATION.values() for code in (row.positive, row.negative)}
    assert set(plain_ways.WAYS) == codes
    for family in OF_DEVIATION:
        first, _dot, axis = family.partition(".")
        key = f"control.tail.{axis}" if axis else first
        for deviation in (2.44, -2.44):
            told = plain_ways.way(key, deviation, "mm")
            assert "2.4 mm" in told
            assert not MINUS.search(told)


def test_sizes_are_as_rough_as_an_owner_needs_them() -> None:
    sizes = [plain_ways.roughly(one, "mm") for one in (-11.02, 9.5, 9.4, 0.06, 0.04)]
    assert sizes == ["11 mm", "10 mm", "9.4 mm", "0.1 mm", "0.04 mm"]
    assert plain_ways.roughly(-1.09, "deg") == "1.1°"


def test_a_pair_and_a_distance_are_told_by_name() -> None:
    assert plain_ways.way("pair_offset.tail_rail", 4.0, "mm") == (
        "tail rail 4.0 mm too far to the left"
    )
    assert plain_ways.way("distance.a.b", -3.0, "mm") == "from a to b 3.0 mm too short"


def test_each_part_outside_has_its_ways_beside_it() -> None:
    ways = {"head": ("11 mm too far back", "its top 1.1° to the left"), "arm": ("2 mm too long",)}
    told = plainly.finding(
        "outside", Parts(("head", "arm"), (), ("fork",)), moved=False, missing=False, ways=ways
    )
    assert told == (
        "2 parts are not where they should be: the steering head (11 mm too far back, its top "
        "1.1° to the left) and the swing arm (2 mm too long). Where it should be: the fork."
    )
