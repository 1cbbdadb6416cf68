"""Passwords that a guesser tries first: refused by how they are made, not from a long list.

Most of what people choose when twelve signs are asked for is a usual word or two with digits and
marks around, a run along the keyboard or the alphabet, or one short piece again and again. The
words are our own choice.
"""

import re
import string

from app.records.search_text import comparable

WORDS = frozenset(
    """
    abc access account admin administrator angel apple april august autumn baby banana bike biker
    bikes blue boss bundle butterfly cat changeme charlie chassis cheese chocolate coffee computer
    cookie correct custom daniel default demo desk diamond dog dragon eagle engine fast flower
    football forever forget frame friday friend fuck gear ginger god gold good green guest hallo
    happy hello home honey house iloveyou inspector internet jesus jigbook job july june killer
    king letmein lion login love lovely lucky machine magic manager march master matrix maximum
    measure mechanic mine monday money monkey moon morning moto motor motorbike motorcycle name
    new night ninja nothing office open orange owner pass passcode passwd passwort password
    passphrase pepper phone please princess private purple qwerty rabbit race racer racing rainbow
    red repair rider root run secret secure service shadow shop silver smile snow soccer spring
    star start summer sun sunday sunshine super superman system team technician temp test tester
    thank thanks the this tiger time today trust user very wachtwoord welcome wheel white winner
    winter wizard word work workshop world wrench yellow you your zebra
    """.split()  # noqa: SIM905
)

RUNS = (
    string.ascii_lowercase,
    "01234567890",
    "qwertyuiopasdfghjklzxcvbnm",
    "qwertzuiopasdfghjklyxcvbnm",
    "azertyuiopqsdfghjklmwxcvbn",
    "1qaz2wsx3edc4rfv5tgb6yhn7ujm8ik9ol0p",
    "1q2w3e4r5t6y7u8i9o0p",
)
ROWS = (*RUNS, *(run[::-1] for run in RUNS))
SHORTEST_RUN = 4
DISGUISES = str.maketrans("@4031$57!", "aaoeisstl")
OWN_SIGNS_NEEDED = 5
DIGITS_FOR_FREE = 4
"""A year or a counter at the end makes no password of its own."""


def is_common(password: str, own_words: tuple[str, ...] = ()) -> bool:
    """Whether little is left when usual words, runs, digits and repeats are taken away.

    `own_words` are further words that a guesser would try: the person's own names.
    """
    plain = _plain(password)
    words = WORDS | {_plain(word) for word in own_words}
    if len(set(plain)) < OWN_SIGNS_NEEDED or _repeats(plain):
        return True
    shapes = (plain, plain.translate(DISGUISES))
    return any(_own_signs(shape, words) < OWN_SIGNS_NEEDED for shape in shapes)


def _plain(text: str) -> str:
    return comparable(text).replace(" ", "")


def _repeats(plain: str) -> bool:
    """One piece of up to four signs, again and again."""
    return re.fullmatch(r"(.{1,4}?)\1{2,}.{0,3}", plain) is not None


def _own_signs(plain: str, words: frozenset[str]) -> int:
    """How many letters and digits remain that are the password's own."""
    rest = _without_runs(plain)
    for word in sorted(words, key=len, reverse=True):
        if len(word) > 2:
            rest = rest.replace(word, " ")
    digits = sum(sign.isdigit() for sign in rest)
    return sum(sign.isalpha() for sign in rest) + max(0, digits - DIGITS_FOR_FREE)


def _without_runs(plain: str) -> str:
    rest, at = [], 0
    while at < len(plain):
        run = _run_length(plain, at)
        rest.append(" " if run else plain[at])
        at += run or 1
    return "".join(rest)


def _run_length(plain: str, at: int) -> int:
    """Length of the longest run that begins there; 0 when it is too short to be one."""
    length = SHORTEST_RUN
    while at + length <= len(plain) and any(plain[at : at + length] in row for row in ROWS):
        length += 1
    return length - 1 if length > SHORTEST_RUN else 0
