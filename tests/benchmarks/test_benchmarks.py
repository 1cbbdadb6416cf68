"""The benchmarks measure what they say; whether a machine meets the targets is not tested here."""

import dataclasses
import sys
from collections.abc import Iterator

import numpy as np
import pytest

from app.benchmarks import (
    certificate_queue,
    certificate_shop,
    certificate_speed,
    engine_speed,
    floor_speed,
    full_survey,
    many_files,
    report,
    start_up,
    trials_speed,
)
from app.benchmarks.one_client import Client
from app.benchmarks.ratio import Bound, Memory, Ratio
from app.benchmarks.shop_server import Served, served_shop
from app.benchmarks.timing import medians
from app.chassis.evaluate import evaluate
from app.chassis.survey import FEATURES, Options
from app.services.prepared_photo import PreparedPhoto

FAST = Ratio("engine", ours_s=0.001, theirs_s=0.006, target=5.0, at_least=True)
SMALL = Memory("trials", peak_mb=150.0, most_mb=600.0, bytes_each=8.2, most_bytes=9.0)
NONE_LEFT = Bound("not done", value=0, most=0.0, unit="")
LIGHT = Ratio("start", ours_s=0.13, theirs_s=0.1, target=1.4, at_least=False)


def test_a_ratio_meets_its_target_or_misses_it() -> None:
    assert FAST.met
    assert FAST.value == pytest.approx(6.0)
    assert LIGHT.met
    assert LIGHT.value == pytest.approx(1.3)
    assert not dataclasses.replace(FAST, theirs_s=0.0049).met
    assert not dataclasses.replace(LIGHT, ours_s=0.141).met
    assert not dataclasses.replace(FAST, same_answer=False).met


@pytest.mark.parametrize(
    ("engine", "start", "code", "word"),
    [
        (FAST, LIGHT, 0, "met"),
        (FAST, dataclasses.replace(LIGHT, ours_s=0.2), 1, "missed"),
        (dataclasses.replace(FAST, same_answer=False), LIGHT, 1, "the answers differ"),
    ],
)
def test_one_missed_target_is_told_and_fails_the_run(
    monkeypatch: pytest.MonkeyPatch, engine: Ratio, start: Ratio, code: int, word: str
) -> None:
    monkeypatch.setattr(report, "engine_speed", lambda rounds: engine)
    monkeypatch.setattr(report, "start_up", lambda rounds: start)
    monkeypatch.setattr(report, "full_survey", lambda rounds: FAST)
    monkeypatch.setattr(report, "many_files", lambda rounds: LIGHT)
    monkeypatch.setattr(report, "trials_speed", lambda rounds: LIGHT)
    monkeypatch.setattr(report, "trials_memory", lambda rounds: SMALL)
    monkeypatch.setattr(report, "floor_speed", lambda rounds: (FAST, LIGHT))
    monkeypatch.setattr(report, "certificate_speed", lambda rounds: LIGHT)
    monkeypatch.setattr(report, "short_certificate_speed", lambda rounds: LIGHT)
    monkeypatch.setattr(report, "certificates_queued", lambda: (NONE_LEFT,))
    monkeypatch.setattr(report, "certificates_through_kills", lambda: (NONE_LEFT, NONE_LEFT))
    lines: list[str] = []
    assert report.run(lines.append) == code
    assert len(lines) == 12
    assert word in "\n".join(lines)


def test_a_bound_is_met_or_missed() -> None:
    late = Bound("event loop", value=19.9, most=20.0, unit="ms")
    assert late.met
    missed = dataclasses.replace(late, value=20.1)
    assert not missed.met
    assert report.exit_code([FAST, missed]) == 1


def test_kills_are_for_the_long_run_alone(monkeypatch: pytest.MonkeyPatch) -> None:
    for name in ("engine_speed", "start_up", "full_survey", "many_files", "trials_speed"):
        monkeypatch.setattr(report, name, lambda rounds: FAST)
    for name in ("trials_memory", "certificate_speed", "short_certificate_speed"):
        monkeypatch.setattr(report, name, lambda rounds: FAST)
    monkeypatch.setattr(report, "floor_speed", lambda rounds: (FAST,))
    monkeypatch.setattr(report, "certificates_queued", lambda: (NONE_LEFT,))
    monkeypatch.setattr(report, "certificates_through_kills", lambda: (NONE_LEFT,))
    lines: list[str] = []
    report.run(lines.append)
    short = len(lines)
    report.run(lines.append, long=True)
    assert len(lines) == 2 * short + 1


@pytest.fixture(scope="module")
def photos() -> tuple[PreparedPhoto, ...]:
    """One picture is drawn and stands for all: what they show is not tested here."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(certificate_shop, "PHOTOS", 1)
        return certificate_shop.invented_photos() * 4


@pytest.fixture
def drawn(photos: tuple[PreparedPhoto, ...], monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(certificate_shop, "invented_photos", lambda: photos)


@pytest.mark.usefixtures("drawn")
def test_a_certificate_goes_from_the_queue_to_the_register_in_the_benchmark() -> None:
    found = certificate_speed.certificate_speed(1)
    assert found.what == "certificate of 5 pages, laid out"
    assert found.same_answer
    assert found.ours_s > 0.0
    assert found.theirs_s > 0.0


def test_the_shortest_certificate_has_three_pages_and_is_timed_alike() -> None:
    found = certificate_speed.short_certificate_speed(1)
    assert found.what == "certificate of 3 pages, laid out"
    assert found.same_answer
    assert found.ours_s > 0.0
    assert found.theirs_s > 0.0


@pytest.mark.checkout
@pytest.mark.usefixtures("drawn")
def test_two_in_the_queue_of_a_served_shop_are_done_in_the_benchmark() -> None:
    left, late, grown, slower = certificate_queue.certificates_queued(2)
    assert left.met
    assert late.value > 0.0
    assert grown.value == pytest.approx(1.0)
    assert slower.value > 0.0


def test_memory_meets_its_bounds_or_misses_them() -> None:
    assert SMALL.met
    assert not dataclasses.replace(SMALL, peak_mb=600.5).met
    assert not dataclasses.replace(SMALL, bytes_each=16.0).met
    assert report.exit_code([FAST, dataclasses.replace(SMALL, bytes_each=16.0)]) == 1


def test_trials_are_timed_with_their_answer() -> None:
    survey, reference = engine_speed.head_survey()
    assert trials_speed.deviates(survey, reference) == 53
    first = evaluate(survey, reference)
    by_trials = evaluate(survey, reference, Options(monte_carlo=100_000, seed=1))
    assert trials_speed.agree(first, by_trials)
    assert not trials_speed.agree(first, first)
    changed = by_trials.characteristics[0]
    wrong = changed._replace(standard_uncertainty=1.02 * changed.standard_uncertainty)
    spoiled = by_trials._replace(characteristics=(wrong, *by_trials.characteristics[1:]))
    assert not trials_speed.agree(first, spoiled)


def test_memory_is_that_of_a_process_of_its_own() -> None:
    assert 30.0 < trials_speed.peak_mb(10_000) < 600.0
    with pytest.raises(RuntimeError):
        trials_speed.peak_mb(-1)


def test_medians_are_of_rounds_in_turn() -> None:
    order: list[str] = []
    found = medians({"a": lambda: order.append("a"), "b": lambda: order.append("b")}, 3)
    assert order == ["a", "b"] * 4
    assert set(found) == {"a", "b"}
    assert all(seconds >= 0.0 for seconds in found.values())


def test_scipy_is_given_the_engines_own_problem_and_finds_the_same() -> None:
    survey, reference = engine_speed.head_survey()
    assert len(survey.feature) == 17
    solved = engine_speed.first_problem(survey, reference)
    assert len(solved.residuals(solved.start)) > len(solved.start)
    assert not np.array_equal(solved.start, solved.parameters)
    found = engine_speed.engine_speed(rounds=1)
    assert found.same_answer
    assert found.ours_s > 0.0


def test_a_wrong_answer_is_seen() -> None:
    one = np.array([100.0, 0.001])
    assert engine_speed.equal(one, one + np.array([9e-5, 9e-7]))
    assert not engine_speed.equal(one, one + np.array([0.0, 2e-6]))
    assert not engine_speed.equal(one, one + np.array([2e-4, 0.0]))


def test_a_full_survey_has_every_feature_and_comes_out_whole() -> None:
    survey, reference = full_survey.whole_machine()
    assert len(survey.feature) == 61
    assert set(survey.feature) == FEATURES
    assert full_survey.complete(survey, reference)
    head, of_head = engine_speed.head_survey()
    assert not full_survey.complete(head, of_head)
    assert full_survey.full_survey(rounds=1).ours_s > 0.0


def test_many_files_are_all_solved_by_one_command() -> None:
    found = many_files.many_files(runs=2, many=20)
    assert 0.0002 < found.ours_s < 0.1
    assert 0.0002 < found.theirs_s < 0.1
    with pytest.raises(RuntimeError):
        many_files.many_files(runs=1, many=5)


def test_solving_as_a_process_is_run_for_real() -> None:
    found = start_up.start_up(rounds=1)
    assert found.ours_s > 0.05
    assert found.theirs_s > 0.05


def test_a_process_that_fails_is_not_timed() -> None:
    with pytest.raises(RuntimeError):
        start_up.run_or_raise([sys.executable, "-c", "import sys; sys.exit(2)"])


@pytest.fixture(scope="module")
def client() -> Iterator[tuple[Client, Served]]:
    """Signed in at a shop with two measurements."""
    with served_shop(2) as served, Client(served.address) as made:
        floor_speed.sign_in(made, served)
        yield made, served


def test_a_measurement_is_walked_on_the_served_pages_to_its_end(
    client: tuple[Client, Served],
) -> None:
    times, (one, served) = floor_speed.Times(), client
    floor_speed.walk(one, served.drafts[0], times)
    assert b"146.894" in one.get(f"{served.drafts[0]}/points").body
    assert times.whole
    assert len(times.readings) == len(times.pages) == len(times.script) == 22
    assert all(seconds > 0.0 for seconds in (*times.readings, *times.pages, *times.script))


def test_a_walk_that_stops_early_is_no_answer(
    client: tuple[Client, Served], monkeypatch: pytest.MonkeyPatch
) -> None:
    times, (one, served) = floor_speed.Times(), client
    known = floor_speed.readings_by_step()
    known["pivot.left"].append({})
    monkeypatch.setattr(floor_speed, "readings_by_step", lambda: known)
    floor_speed.walk(one, served.drafts[1], times)
    assert not times.whole
