"""The zone that a new shop starts with: that of the machine on which it is set up."""

import os

import pytest

from app.settings import own_time_zone


@pytest.mark.parametrize(
    ("said", "taken"),
    [
        ({"TZ": "Asia/Kolkata"}, "Asia/Kolkata"),
        ({"TZ": ":Europe/Lisbon"}, "Europe/Lisbon"),
        ({"TZ": "XYZ-3"}, "UTC"),
        ({"TZ": "../../etc/hostname"}, "UTC"),
    ],
)
def test_the_environment_goes_first_and_only_known_names_are_taken(
    said: dict[str, str], taken: str
) -> None:
    assert own_time_zone(said) == taken


def test_without_it_the_link_of_the_machine_tells_the_zone(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(os.path, "realpath", lambda path: "/usr/share/zoneinfo/America/Denver")
    assert own_time_zone({}) == "America/Denver"
    monkeypatch.setattr(os.path, "realpath", lambda path: path)
    assert own_time_zone({}) == "UTC"
