"""A stored result as the engine gave it, for arithmetic between results: nothing is evaluated."""

import numpy as np

from app.chassis.result import (
    Characteristic,
    Finding,
    NoiseCheck,
    Outline,
    Result,
    RigCheck,
    Share,
    Shared,
)
from app.schemas.comparing import SharedOut
from app.schemas.result import CharacteristicOut, ResultOut
from app.services.combining import Measured
from app.services.survey_views import SurveyView

NOTHING_SHARED: SharedOut = {"causes": [], "derivatives": []}


def measured(view: SurveyView) -> Measured:
    """A stored measurement with its stored result."""
    return Measured(view.survey, as_given(view.result))


def as_given(stored: ResultOut) -> Result:
    """The numbers of a stored result. Of results of earlier days nothing is taken as shared."""
    keys = tuple(stored["covariance"]["keys"])
    covariance = np.array(stored["covariance"]["matrix"], dtype=np.float64)
    shared = stored.get("shared", NOTHING_SHARED)
    causes = tuple(shared["causes"])
    derivatives = np.array(shared["derivatives"], dtype=np.float64)
    rig, noise, finding = stored["rig_check"], stored["noise_check"], stored["finding"]
    return Result(
        stored["engine_version"],
        stored["levelling"],
        stored["threshold"],
        Finding(
            finding["verdict"],
            finding["probability_all"],
            finding["required"],
            tuple(finding["missing"]),
        ),
        RigCheck(
            rig["verdict"],
            rig["scope"],
            rig["statistic"],
            rig["limit"],
            rig["degrees_of_freedom"],
            rig["detectable_slip_mm"],
        ),
        NoiseCheck(
            noise["verdict"], noise["statistic"], noise["limit"], noise["degrees_of_freedom"]
        ),
        stored["orientation"],
        tuple(characteristic(one) for one in stored["characteristics"]),
        keys,
        covariance.reshape(len(keys), len(keys)),
        (),
        Outline((), (), stored["outline"]["levelled"]),
        Shared(causes, derivatives.reshape(len(keys), len(causes))),
        (),
        (),
        tuple(stored.get("levelled_by", ())),
    )


def characteristic(one: CharacteristicOut) -> Characteristic:
    """One of them."""
    return Characteristic(
        one["key"],
        one["unit"],
        one["value"],
        one["standard_uncertainty"],
        one["degrees_of_freedom"],
        one["expanded_uncertainty"],
        one["coverage_factor"],
        one["nominal"],
        one["deviation"],
        one["lower"],
        one["upper"],
        one["required"],
        one["probability_within"],
        one["probability_above"],
        one["probability_below"],
        one["verdict"],
        one["side"],
        one["cannot_decide"],
        one["set_by_levelling"],
        one["sense_code"],
        tuple(Share(part["source"], part["share"]) for part in one["budget"]),
    )
