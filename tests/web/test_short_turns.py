"""While the program serves, a thread that works gives way to the event loop soon."""

import sys

import pytest

from app.web.short_turns import short_turns


def test_turns_are_short_while_the_program_serves_and_as_before_afterwards() -> None:
    before = sys.getswitchinterval()
    with short_turns():
        assert sys.getswitchinterval() == pytest.approx(0.001)
    assert sys.getswitchinterval() == pytest.approx(before)


def test_an_error_leaves_the_turns_as_they_were() -> None:
    before = sys.getswitchinterval()
    with pytest.raises(ValueError, match="stop"), short_turns():
        raise ValueError("stop")
    assert sys.getswitchinterval() == pytest.approx(before)
