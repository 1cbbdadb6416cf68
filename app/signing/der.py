"""Distinguished encoding (X.690, clauses 8 to 11): each value has one string of bytes alone.

A reader that takes other encodings as well would not see a change from one to the other.
"""

from collections.abc import Iterator

from asn1crypto import parser  # type: ignore[import-untyped]

UNIVERSAL, CONSTRUCTED = 0, 1
BOOLEAN, INTEGER, BIT_STRING, NULL, IDENTIFIER, ENUMERATED, SEQUENCE, SET = (
    1,
    2,
    3,
    5,
    6,
    10,
    16,
    17,
)
HIGHEST_SHORT_LENGTH = 127
DEEPEST = 40

Element = tuple[int, int, int, bytes, bytes, bytes]
"""Class, method, tag, header, contents, trailer."""


def is_distinguished(content: bytes) -> bool:
    """Whether the bytes are one value in its one encoding. Raises ValueError for what is none."""
    elements = list(elements_of(content))
    return len(elements) == 1 and fits(elements[0], 0)


def elements_of(content: bytes) -> Iterator[Element]:
    """The elements that stand one after the other."""
    at = 0
    while at < len(content):
        element: Element = parser.parse(content[at:], strict=False)
        yield element
        at += sum(map(len, element[3:]))


def fits(element: Element, depth: int) -> bool:
    """Whether an element and all within it stand in their one encoding."""
    kind, method, tag, header, contents, trailer = element
    if trailer or depth > DEEPEST or header[1:] != length_bytes(len(contents)):
        return False
    if method != CONSTRUCTED:
        return kind != UNIVERSAL or primitive_fits(tag, contents)
    if kind == UNIVERSAL and tag not in (SEQUENCE, SET):
        return False
    inner = list(elements_of(contents))
    if kind == UNIVERSAL and tag == SET and not is_sorted(inner):
        return False
    return all(fits(one, depth + 1) for one in inner)


def length_bytes(length: int) -> bytes:
    """A length in its shortest form (10.1); tags here take one byte."""
    if length <= HIGHEST_SHORT_LENGTH:
        return bytes([length])
    digits = length.to_bytes((length.bit_length() + 7) // 8, "big")
    return bytes([0x80 | len(digits)]) + digits


def is_sorted(elements: list[Element]) -> bool:
    """Whether the members of a set stand in the order of their bytes (11.6)."""
    encoded = [one[3] + one[4] for one in elements]
    return encoded == sorted(encoded)


def primitive_fits(tag: int, contents: bytes) -> bool:
    """Whether a value without inner ones has its one form."""
    if tag == BOOLEAN:
        return contents in (b"\x00", b"\xff")
    if tag in (INTEGER, ENUMERATED):
        return is_shortest_integer(contents)
    if tag == BIT_STRING:
        return has_zero_unused_bits(contents)
    if tag == NULL:
        return not contents
    if tag == IDENTIFIER:
        return has_shortest_arcs(contents)
    return tag not in (SEQUENCE, SET)


def is_shortest_integer(contents: bytes) -> bool:
    """Whether the first nine bits are not all alike (8.3.2)."""
    if len(contents) < 2:
        return len(contents) == 1
    sign = contents[1] & 0x80
    return not (contents[0] == 0 and not sign) and not (contents[0] == 0xFF and bool(sign))


def has_zero_unused_bits(contents: bytes) -> bool:
    """Whether unused bits at the end are few and zero (11.2)."""
    if not contents or contents[0] > 7:
        return False
    return contents[0] == 0 or (len(contents) > 1 and contents[-1] & ((1 << contents[0]) - 1) == 0)


def has_shortest_arcs(contents: bytes) -> bool:
    """Whether no arc of an object identifier begins with padding (8.19.2)."""
    if not contents or contents[-1] & 0x80:
        return False
    starts = [True, *(not one & 0x80 for one in contents[:-1])]
    return not any(start and one == 0x80 for start, one in zip(starts, contents, strict=True))
