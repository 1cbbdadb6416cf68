"""What the check of a frame number found, in sentences: also that nothing is odd about it."""

from app.schemas.frame_number import (
    BUILT_WHERE_RULE_APPLIES,
    CHECK_POSITION,
    LENGTH,
    FrameNumber,
    check_digit,
    read_frame_number,
)
from app.wording.errors import explain
from app.wording.translation import _


def explained(text: str) -> tuple[str, ...]:
    """Return the number as it is read and what its check says, a sentence each; nothing for an
    empty text."""
    if not text.strip():
        return ()
    read = read_frame_number(text)
    odd = [*read.problems, *read.warnings]
    said = [_sentence(explain(one).sentence) for one in odd] or _nothing_odd(read)
    return (_("Read as {number}.").format(number=read.number), *said)


def _sentence(words: str) -> str:
    return words[:1].upper() + words[1:] + "."


def _nothing_odd(read: FrameNumber) -> list[str]:
    if len(read.number) != LENGTH:
        return []
    sound = _("It has 17 characters, and none that a frame number never holds.")
    if read.number[CHECK_POSITION - 1] == check_digit(read.number):
        return [sound, _("Its check digit, at place 9, fits.")]
    if read.number[0] not in BUILT_WHERE_RULE_APPLIES:
        elsewhere = _(
            "Place 9 holds no check digit; machines built outside North America need none."
        )
        return [sound, elsewhere]
    return [sound]
