"""A reference from measured machines in words: what it rests on, and what it does not say."""

from collections.abc import Mapping, Sequence

from app.wording.explanation import spoken_facts
from app.wording.numbers import plain
from app.wording.translation import _, later

WARNINGS: dict[str, str] = {
    "few_machines": later(
        "Only {met} machines: the limits are several times as wide as the machines differ, and "
        "the next machine may change them much; {needed} or more are better."
    ),
    "outlier": later(
        "{names}: {machine} stands farther out than chance explains ({statistic} standard "
        "deviations; the limit is {critical}). It was kept. Look whether that machine is in "
        "order and was measured rightly; it may be left out with a reason."
    ),
    "too_few_values": later(
        "Fewer than {needed} of the machines have these, so that they are not in the reference: "
        "{names}."
    ),
    "not_measured": later("In the base reference, but measured on no machine: {names}."),
    "magnitude": later(
        "Never below zero, so that no two-sided limits fit; told, but not in the reference: "
        "{names}."
    ),
    "no_scatter": later(
        "The same on all machines, so that no limits can be made; not in the reference: {names}."
    ),
    "scatter_below_measurement": later(
        "The machines differ less than the measurements are uncertain, and the uncertainty of the "
        "mean rests on the measurements' own: {names}."
    ),
    "narrower_than_measuring": later(
        "The limits are narrower than the uncertainty of one measurement such as these, so that "
        "such a measurement cannot decide: {names}."
    ),
    "points_moved": later(
        "Control points stand where the machines have them on the mean; everything that is told "
        "against them was worked out again."
    ),
    "orientation_not_checked": later("Left, right and upward were not checked on: {names}."),
}


def warning(code: str, facts: Mapping[str, str | int | float]) -> str:
    """Return a warning of the report as a sentence."""
    message = _(WARNINGS[code]).format_map(spoken_facts(facts))
    return message[:1].upper() + message[1:]


def sentences(machines: int, content: float, confidence: float, significance: float) -> list[str]:
    """Return what the limits mean and what stands behind them."""
    return [
        _(
            "Nominal values are the means of {machines} machines that a person took for being in "
            "order."
        ).format(machines=machines),
        _(
            "The limits hold at least {content} of all such machines with a confidence of "
            "{confidence}, if their values are normally distributed. They say what is usual, not "
            "what the maker allows."
        ).format(content=percent_of(content), confidence=percent_of(confidence)),
        _(
            "The differences between the machines as measured include the uncertainty of the "
            "measurements; the limits were neither widened nor narrowed for it."
        ),
        _(
            "Each characteristic is tested for an outlier by itself, and the test errs in "
            "{significance} of all cases: among many, chance alone lets one stand out now and then."
        ).format(significance=percent_of(significance)),
    ]


def provenance(
    machines: int,
    names: Sequence[str],
    left_out: Mapping[str, str],
    content: float,
    confidence: float,
) -> str:
    """Return where a reference comes from, and which machines were left out with the reason.

    names: of the machines that count, empty where the list would be too long to print.
    """
    head = _(
        "Means of {machines} machines taken for being in order; limits are two-sided tolerance "
        "intervals for {content} of all such machines at {confidence} confidence (normal "
        "distribution), measurement uncertainty included."
    ).format(machines=machines, content=percent_of(content), confidence=percent_of(confidence))
    told = [head]
    if names:
        told.append(_("Machines: {names}.").format(names="; ".join(names)))
    if left_out:
        reasons = "; ".join(f"{name} ({why})" for name, why in left_out.items())
        told.append(_("Left out: {names}.").format(names=reasons))
    return " ".join(told)


def source(machines: int, content: float, confidence: float) -> str:
    """Return the source that stands beside each characteristic."""
    return _("{machines} machines measured, {content} of all at {confidence} confidence").format(
        machines=machines, content=percent_of(content), confidence=percent_of(confidence)
    )


def percent_of(probability: float) -> str:
    """Return a probability in per cent, exactly as it was chosen."""
    return f"{plain(round(100.0 * probability, 6))} %"
