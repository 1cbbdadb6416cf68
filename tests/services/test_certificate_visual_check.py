"""What a certificate says of damage that was seen and is answered otherwise by now."""

from dataclasses import replace

from app.services.certificate_visual_check import earlier, in_brief, is_on_record
from app.services.visual_check_views import VisualCheckView, standing_of
from tests.services.test_visual_check_views import given

SEEN = replace(given(1, "seen"), note="hairline")


def checks(*answers: VisualCheckView) -> tuple[VisualCheckView, ...]:
    """The answers that stand, of those items that were answered."""
    return tuple(one for one in standing_of(answers) if one.checked_at is not None)


def test_the_item_says_when_it_was_seen_and_what_was_done() -> None:
    (found,) = checks(SEEN, given(5, "not_seen", since="replaced"))
    assert earlier(found) == ("seen on 2 March 2026 by Tove (front, hairline); replaced: new wheel")


def test_nothing_is_said_of_what_was_never_seen_or_is_seen_still() -> None:
    assert [earlier(one) for one in checks(SEEN)] == [""]
    assert [earlier(one) for one in checks(given(1, "not_seen"))] == [""]


def test_what_was_replaced_since_is_no_damage_on_record_any_more() -> None:
    def found(*answers: VisualCheckView) -> list[bool]:
        return [is_on_record(one) for one in checks(*answers)]

    assert found(SEEN) == found(SEEN, given(5, "not_seen")) == [True]
    assert found(SEEN, given(5, "not_seen", since="repaired")) == [True]
    assert found(SEEN, given(5, "not_seen", since="replaced")) == [False]
    assert found(given(1, "not_seen")) == [False]


def test_the_first_page_says_that_nothing_is_seen_now_and_what_was_before() -> None:
    told = in_brief(checks(SEEN, given(5, "not_seen", since="repaired")))
    assert told.endswith(
        "1 kind of damage looked for, none seen now. Seen before: cracks in the wheels (repaired)."
    )
    never = in_brief(checks(given(1, "not_seen")))
    assert never.endswith("1 kind of damage looked for, none seen.")


def test_an_answer_that_was_changed_before_anybody_was_asked_says_so() -> None:
    told = in_brief(checks(SEEN, given(5, "not_seen")))
    assert "Seen before: cracks in the wheels (not said what was done)." in told
