"""An instrument's own record in words: check bar, gauge study, handedness of its axes."""

from collections.abc import Iterable

from app.metrology.rounding import rounded
from app.wording.numbers import percent, plain
from app.wording.translation import _, counted, later

SIGNALS: dict[str, str] = {
    "above_limit": later("above the upper limit of the chart"),
    "below_limit": later("below the lower limit of the chart"),
    "range": later("too far from the reading before it"),
    "average": later("the moving average is beyond its limits: a slow drift"),
    "bias": later("more than three standard uncertainties from the bar's length"),
}
HANDEDNESS: dict[str, str] = {
    "right_handed": later("the instrument's axes are right-handed"),
    "left_handed": later("the instrument's axes are left-handed: left and right are exchanged"),
}
STANDINGS: dict[str, str] = {
    "never_checked": later("The check bar was never measured."),
    "in_control": later("In control: nothing speaks against the instrument."),
    "out_of_control": later(
        "Out of control: a reading waits to be explained; until then nothing is certified with "
        "this instrument."
    ),
}
SOURCES: dict[str, str] = {
    "people": later("people"),
    "parts": later("parts"),
    "interaction": later("people with parts"),
    "repeatability": later("repeatability"),
    "reproducibility": later("from person to person"),
    "gauge": later("gauge and people together"),
    "part": later("parts"),
    "total": later("total"),
}
UNITS = {"mm": "mm", "deg": "°"}


def signal(code: str) -> str:
    """Return what speaks against a reading of the check bar."""
    return _(SIGNALS[code])


def standing(code: str) -> str:
    """Return whether the instrument is in control."""
    return _(STANDINGS[code])


def handedness(verdict: str) -> str:
    """Return what the steering turned to the known left has shown."""
    return _(HANDEDNESS[verdict])


def source(name: str) -> str:
    """Return what a line of a gauge study is called."""
    return _(SOURCES[name])


def deviation(millimetres: float) -> str:
    """Return how far a reading is from the bar's length, with its direction in words."""
    size = rounded(abs(millimetres), 3)
    if not float(size):
        return _("as long as the bar")
    text = _("{size} mm too long") if millimetres > 0 else _("{size} mm too short")
    return text.format(size=size)


def says(millimetres: float, signals: Iterable[str]) -> tuple[str, ...]:
    """Return what a reading says of the instrument: its deviation, and what speaks against it."""
    return (deviation(millimetres), *map(signal, signals))


def gauge_sentence(
    gauge: float, share: float | None, categories: int | None, unit: str, *, pooled: bool
) -> str:
    """Return what a gauge study found, in one or two sentences."""
    if categories is None:
        return _("The readings do not scatter at all: they are too coarse to judge the gauge by.")
    told = [
        _("Gauge and people together scatter by {size} {unit} (one standard deviation)").format(
            size=plain(float(f"{gauge:.2g}")), unit=UNITS[unit]
        )
    ]
    if share is not None:
        told.append(_(", {share} of the total").format(share=percent(share)))
    kinds = counted(
        "; they tell no two kinds of part apart.",
        "; they tell {count} kinds of part apart.",
        categories,
    )
    told.append(kinds.format(count=categories))
    if pooled:
        told.append(_(" People do not differ from part to part: that is counted as repeatability."))
    return "".join(told)


def check_bar_reading(measured: str, signals: tuple[str, ...]) -> str:
    """Return a reading that is out of control in one line."""
    return _("check bar of {measured}: {signals}").format(
        measured=measured, signals="; ".join(signal(code) for code in signals)
    )
