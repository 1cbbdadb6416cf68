"""How the first page is fitted: by what is foreseen, which layout bears out."""

from collections.abc import Callable
from dataclasses import replace

import pytest

from app.documents import certificate
from app.documents.certificate import SAFETY_MM, page_of, prepared, print_certificate, reach_mm
from app.documents.content import CertificateContent
from app.documents.first_page import ROOM_MM, ROW_MM, Fit, fitting, with_all
from app.documents.first_page_size import lines_of, rows
from app.services.certificate_first_page import how_sure
from app.wording.cautions import on_damage
from tests.documents.examples import CONTENT, EARLIER
from tests.documents.whole import longest, whole, wordy
from tests.services.whole_result import result


def without_a_limit(content: CertificateContent) -> CertificateContent:
    """One of what is required has no limit, and so no bar."""
    first, *others = content.characteristics
    now = replace(first.now, verdict="no_tolerance", word="no limit")
    lines = (replace(first, required=True, limits="no limit", bar=None, now=now), *others)
    return replace(content, characteristics=lines)


def with_outside_besides(content: CertificateContent) -> CertificateContent:
    """One that is not required is outside: it is listed all the same."""
    first, *others = content.characteristics
    now = replace(first.now, verdict="outside", word="outside")
    return replace(content, characteristics=(replace(first, required=False, now=now), *others))


def with_no_source(content: CertificateContent) -> CertificateContent:
    """Some limits are not the maker's, one of these has no source; no correction was noted."""
    first, second, *others = content.characteristics
    lines = (
        replace(first, not_the_makers=True, no_source=True),
        replace(second, not_the_makers=True, no_source=False),
        *others,
    )
    return replace(
        content,
        characteristics=lines,
        shop=content.shop[:1],
        title="Certificate of measurement",
        subtitle="No correction was ordered or noted. What was measured is certified.",
    )


CONTENTS = {
    "without a source": with_no_source(CONTENT),
    "without a source, in one line": with_no_source(whole()),
    "completion": CONTENT,
    "earlier": EARLIER,
    "with long names": wordy(CONTENT),
    "twelve required": whole(),
    "report": whole(completion=False),
    "without a limit": without_a_limit(whole()),
    "of another make": replace(
        whole(),
        about_reference="The reference is of another make than the machine. Reference values and "
        "limits are not from the maker, 12 limits (††) without a source.",
    ),
    "damage on hold": replace(
        whole(completion=False),
        on_hold="cracks in the frame (left spar, beside its weld). Seen, and not settled.",
        on_damage=on_damage(),
        how_sure=how_sure(result(after=False), seen=True),
    ),
    "damage, its hold closed": replace(CONTENT, on_damage=on_damage()),
    "outside besides": with_outside_besides(CONTENT),
}


@pytest.mark.parametrize("name", CONTENTS)
def test_what_is_foreseen_is_what_is_laid_out(name: str) -> None:
    content = CONTENTS[name]
    drawn = prepared(content, b"{}")
    foreseen = certificate.foreseen(drawn, never)
    ways = list(with_all(content))
    for fit in {ways[0], ways[len(ways) // 2], ways[-1], *(way for way in ways if way.was)}:
        laid_out = reach_mm(replace(drawn, fit=fit))
        assert laid_out <= foreseen(fit), fit
        assert foreseen(fit) - laid_out < 2.0 * SAFETY_MM, fit


def never(fit: Fit) -> float:
    raise AssertionError("nothing is laid out to see how far it reaches")


def test_where_it_was_foreseen_wrongly_the_page_is_fitted_by_layout(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    right = print_certificate(wordy(CONTENT), b"{}")
    monkeypatch.setattr(certificate, "foreseen_mm", lambda content, fit, drawn: 0.0)
    assert print_certificate(wordy(CONTENT), b"{}") == right


def reaching(row: float, rest: float) -> Callable[[Fit], float]:
    """A page whose bars take so much each, and all else so much."""
    less = {"roomy": 1.0, "snug": 0.9, "close": 0.85, "closest": 0.75, "least": 0.5}

    def reach(fit: Fit) -> float:
        lines = 2.0 if fit.two_lines else 1.0
        return less[fit.name] * (rest + 50.0 * fit.drawing + lines * row * fit.bars)

    return reach


def required(content: CertificateContent, count: int) -> CertificateContent:
    lines = (content.characteristics * count)[:count]
    named = tuple(replace(one, key=f"{one.key}_{place}") for place, one in enumerate(lines))
    return replace(content, characteristics=named)


@pytest.mark.parametrize("rest", [60.0, 150.0, 200.0, 240.0, 300.0, 400.0, 550.0])
@pytest.mark.parametrize("count", [0, 1, 3, 7, 8, 12, 13, 30, 60])
def test_the_page_holds_whatever_is_chosen_as_long_as_the_rest_can_be_held(
    count: int, rest: float
) -> None:
    content = required(CONTENT, count)
    reach = reaching(ROW_MM, rest)
    fit = fitting(with_all(content), reach)
    assert fit.bars <= count
    assert reach(fit) <= ROOM_MM or fit.bars == 0
    roomier = [way for way in with_all(content) if reach(way) <= ROOM_MM]
    assert not roomier or fit == roomier[0]


def test_bars_give_way_from_the_end_of_need() -> None:
    """Outside before undecided before within, each in its own order."""
    content = whole(completion=False)
    content = replace(
        content,
        characteristics=tuple(replace(line, required=True) for line in content.characteristics),
    )
    for bars in (2, 9, 20):
        shown = Fit("closest", bars).listed(content)
        assert len(shown) == bars
        worst = [line.now.verdict for line in content.required].count("outside")
        assert [one.now.verdict for one in shown].count("outside") == min(bars, worst)
        order = [content.required.index(one) for one in shown]
        assert order == sorted(order)


def test_what_is_outside_and_not_required_is_listed_as_such() -> None:
    content = with_outside_besides(CONTENT)
    assert len(content.listed) == len(content.required) + 1 == len(content.characteristics)
    fits = [next(with_all(content)), Fit("closest", 1)]
    for fit in fits:
        page = page_of(replace(prepared(content, b"{}"), fit=fit), "first_page.html")
        assert page.count("not required") == 1
        assert content.characteristics[0].name in page
        assert "Required or outside" in page
    usual = page_of(prepared(CONTENT, b"{}"), "first_page.html")
    assert "not required" not in usual


def test_limits_of_no_source_have_a_mark_of_their_own() -> None:
    """In the table of the first page and in that of the results, with the key below each."""
    content = with_no_source(CONTENT)
    pages = [
        page_of(prepared(content, b"{}"), name) for name in ("first_page.html", "results.html")
    ]
    for page in pages:
        assert page.count("&nbsp;††<") == 1
        assert page.count("&nbsp;†<") == 2
        assert page.count("††\N{NO-BREAK SPACE}") == 1
    assert "††" not in page_of(prepared(CONTENT, b"{}"), "certificate.html")


def test_of_a_correction_only_where_one_is_noted() -> None:
    page = page_of(prepared(CONTENT, b"{}"), "certificate.html")
    none = page_of(prepared(replace(CONTENT, corrections=()), b"{}"), "certificate.html")
    assert page.count("Before the correction") == 4
    assert none.count("Earlier measurement") == 4
    assert "Before the correction" not in none


def test_the_longest_names_of_all_still_find_room() -> None:
    drawn = prepared(longest(whole()), b"{}")
    fit = fitting(with_all(drawn.content), lambda way: reach_mm(replace(drawn, fit=way)))
    assert reach_mm(replace(drawn, fit=fit)) <= ROOM_MM
    assert fit.bars >= 3


@pytest.mark.parametrize(
    ("words", "room", "lines"),
    [
        ([], 10.0, 1),
        ([3.0, 3.0], 7.0, 1),
        ([3.0, 3.1], 7.0, 2),
        ([3.0, 3.0, 3.0], 7.0, 2),
        ([25.0], 10.0, 3),
        ([2.0, 25.0, 2.0], 10.0, 4),
        ([2.0, 25.0, 6.0], 10.0, 5),
    ],
)
def test_words_fill_lines(words: list[float], room: float, lines: int) -> None:
    assert lines_of(words, 1.0, room) == lines


def test_letters_have_their_own_widths() -> None:
    assert rows("i" * 60, 9.0, 58.0) < rows("W" * 60, 9.0, 58.0)
    assert rows("head twist", 9.0, 58.0) == rows("head twist", 9.0, 58.0, bold=True) == 1
