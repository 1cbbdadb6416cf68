"""What a row of the results says in words below its figures: which way, what changed, and the
finding as far as its one word leaves something out.

All of it is put together from what the content says; nothing is judged here.
"""

from collections import Counter
from collections.abc import Iterator

from app.documents.content import CertificateContent, CharacteristicLine, Reading
from app.wording.translation import _

NO_BREAK = "\N{NO-BREAK SPACE}"


def told(line: CharacteristicLine) -> str:
    """The words of a row, in one line."""
    pieces = [*values(line), which_way(line)]
    if line.change:
        pieces.append(_("change: {words}").format(words=line.change))
    pieces += findings(line)
    if line.before and line.before.probability:
        pieces.append(_("P before {p}").format(p=unbroken(line.before.probability)))
    return "; ".join(pieces)


def unbroken(number: str) -> str:
    """A number that no line's end parts from its sign."""
    return number.replace(" ", NO_BREAK)


def values(line: CharacteristicLine) -> Iterator[str]:
    """Values that have a direction of their own beside that of their deviation."""
    before, now = line.before, line.now
    if before is not None and turned(before):
        yield _("before {words}").format(words=before.value)
    if turned(now):
        yield _("now {words}").format(words=now.value) if before else now.value


def turned(one: Reading) -> bool:
    """Whether the value is neither the figure nor the deviation in words."""
    return one.figure != "" and one.value not in (one.figure, one.deviation)


def which_way(line: CharacteristicLine) -> str:
    """The deviation now, and before where both are set side by side."""
    now = line.now.deviation
    if line.before is None:
        return now
    before = line.before.deviation
    if before == now:
        return _("both times {words}").format(words=now)
    (earlier, of_before), (later, of_now) = first_word(before), first_word(now)
    if of_before == of_now and later[:1].isdigit():
        # What both say alike is said once: their numbers stand at the front.
        return _("before {earlier}, now {now}").format(earlier=earlier, now=now)
    return _("before {earlier}, now {now}").format(earlier=before, now=now)


def first_word(words: str) -> tuple[str, str]:
    """A number at the front, and what follows it."""
    first, _space, rest = words.partition(" ")
    return first, rest


def findings(line: CharacteristicLine) -> Iterator[str]:
    """The findings that have more words than the one beside the figures."""
    before, now = line.before, line.now
    if before is None:
        if fuller(now):
            yield now.finding
    elif fuller(now) and before.finding == now.finding:
        yield _("both times {words}").format(words=now.finding)
    else:
        if fuller(before):
            yield _("before {words}").format(words=before.finding)
        if fuller(now):
            yield _("now {words}").format(words=now.finding)


def fuller(one: Reading) -> bool:
    """Whether the finding says more than its word, such as the side of the limit."""
    return one.finding != one.word


def background(line: CharacteristicLine, usual: str) -> str:
    """What is measured, where its uncertainty comes from, and its coverage factor where that is
    not the usual one."""
    sources = _("U from {sources}").format(sources=line.sources) if line.sources else ""
    return "; ".join(filter(None, (line.description, sources, other_factors(line, usual))))


def usual_factor(content: CertificateContent) -> str:
    """The coverage factor that most readings have; a row says its own where it differs."""
    factors = Counter(
        one.coverage_factor for line in content.characteristics for one in readings(line)
    )
    del factors[""]
    return factors.most_common(1)[0][0] if factors else ""


def other_factors(line: CharacteristicLine, usual: str) -> str:
    """The coverage factors of a row that are not the usual one."""
    found = [one.coverage_factor for one in readings(line) if one.coverage_factor]
    if all(factor == usual for factor in found):
        return ""
    if len(set(found)) == 1:
        return _("k = {factor}").format(factor=found[0])
    earlier, now = found
    return _("k = {earlier} before, {now} now").format(earlier=earlier, now=now)


def readings(line: CharacteristicLine) -> Iterator[Reading]:
    """Before, where it is set beside, and now."""
    if line.before is not None:
        yield line.before
    yield line.now
