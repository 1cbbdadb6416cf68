"""The shop of the certificate's benchmarks: what its one job has on record."""

import io
import json

import pytest
from PIL import Image

from app.benchmarks.certificate_shop import CHARACTERISTICS, PHOTOS, REQUIRED, reference, survey
from app.benchmarks.invented_photos import SIZE, picture
from app.chassis.evaluate import evaluate
from app.schemas.reading import read_reference, read_survey
from app.services.solving import reference_to_engine, to_engine


@pytest.mark.parametrize("phase", ["before", "after"])
def test_25_characteristics_come_of_each_measurement_and_no_other(phase: str) -> None:
    asked = reference_to_engine(read_reference(json.dumps(reference()).encode()))
    sent = to_engine(read_survey(json.dumps(survey(phase, 7)).encode()))
    found = evaluate(sent, asked)
    assert len(found.characteristics) == CHARACTERISTICS == 25
    assert sum(one.required for one in found.characteristics) == REQUIRED


def test_two_measurements_have_no_point_in_common() -> None:
    first, second = (
        {tuple(point[axis] for axis in "xyz") for point in survey("before", seed)["points"]}
        for seed in (1, 2)
    )
    assert len(first) == len(second) == 50
    assert not first & second


def test_photos_are_as_large_as_a_telephones_and_each_another() -> None:
    taken = [picture(seed) for seed in range(PHOTOS)]
    assert picture(0) == taken[0]
    assert len(set(taken)) == PHOTOS == 4
    for one in taken:
        assert 200_000 < len(one) < 2_000_000
        with Image.open(io.BytesIO(one)) as photo:
            assert (photo.format, photo.size) == ("JPEG", SIZE)
            assert len(photo.resize((60, 45)).getcolors(2700) or ()) > 500
