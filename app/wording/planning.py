"""What to measure next, in sentences."""

from collections.abc import Mapping, Sequence

from app.errors import Fact
from app.metrology.rounding import decimal_places, rounded
from app.wording import labels, senses
from app.wording.numbers import exact, places, size, spread
from app.wording.translation import _, counted, later

WHAT: dict[str, str] = {
    "pivot_return": later("a return to the {side} end of the pivot axis"),
    "face_return": later("a return to the frame face on the {side}"),
    "pivot_point": later("one more point at the {side} end of the pivot axis"),
    "face_point": later(
        "one more point on the frame face on the {side}, across the pivot axis from the others"
    ),
    "head_face_point": later(
        "one more point on the lower head face, across the steering axis from the others"
    ),
    "bore_point": later("one more point in the {end} bearing seat"),
    "steering_return": later("a return to one of the stations, all targets measured again,"),
    "station": later(
        "one more station, the steering about {angle} to the {side} of the middle between the "
        "farthest left and the farthest right one,"
    ),
    "station:middle": later(
        "one more station, in the middle between the farthest left and the farthest right one,"
    ),
    "target": later(
        "one more target, {angle} round the steering axis from {label}, with all targets at "
        "{stations},"
    ),
    "line_point:rear_axle": later("one more point at the {end} end of the rear axle"),
    "line_point:fork_leg": later("one more point near the {end} end of the {label} fork leg"),
    "line_point:axis": later("one more point at the {end} end of {label}"),
    "named_point:control": later("control point {label}, measured once more,"),
    "named_point:pair": later("pair point {label}, measured once more,"),
    "named_point:level_line": later("the {label} levelling point, measured once more,"),
    "arm_face_point": later("one more point on the wheel face of the arm on the {side}"),
    "rim_point:front_rim": later(
        "one more point on the {side} edge of the front rim, in the widest gap"
    ),
    "rim_point:rear_rim": later(
        "one more point on the {side} edge of the rear rim, in the widest gap"
    ),
    "rim_half_turn:front_rim": later(
        "the {side} edge of the front rim, measured again half a turn on,"
    ),
    "rim_half_turn:rear_rim": later(
        "the {side} edge of the rear rim, measured again half a turn on,"
    ),
}
"""By code, or by code and feature (or side)."""

ENDS = {
    "lower": later("lower"),
    "upper": later("upper"),
    "left": later("left"),
    "right": later("right"),
    "front": later("front"),
    "rear": later("rear"),
}

NEEDS: dict[str, str] = {
    "set_up_moved": later("the set-up moved: measure everything again, from the datum on"),
    "characteristic_missing": later("{name}: still to be measured: {lacking}"),
    "levelling_missing": later("{name}: needs what the levelling rule of the reference asks for"),
    "orientation_missing": later("say which way is up, so that left and right can be checked"),
    "return_missing": later(
        "a completion certificate needs these measured again last, as station return: {lacking}"
    ),
}
"""What is still needed, by code. What is needed first is told by the refusal's own sentences."""


def what(code: str, feature: str, facts: Mapping[str, Fact]) -> str:
    """Return what would be measured, as the beginning of a sentence."""
    side, end, label = (facts.get(name) for name in ("side", "end", "label"))
    angle = facts.get("angle_deg")
    text = WHAT.get(f"{code}:{side}") or WHAT.get(f"{code}:{feature}") or WHAT[code]
    return _(text).format(
        side=_(labels.SIDES.get(str(side), str(side))),
        end=_(ENDS.get(str(end), str(end))),
        label=_(ENDS[str(label)]) if label in ENDS else _named(str(label)),
        angle=size(float(angle), "deg", 0) if isinstance(angle, int | float) else "",
        stations=_more_stations(facts.get("stations")),
    )


def _more_stations(count: Fact) -> str:
    if not isinstance(count, int):
        return ""
    text = counted("{count} more station", "{count} more stations", count)
    return text.format(count=count)


def begin() -> str:
    """Return what to do before the first point."""
    return _("nothing is measured yet: the first points are the two ends of the swing-arm pivot")


def first_put_right(sentence: str) -> str:
    """Return what comes before all else while a reading stands that cannot be."""
    return _("first put right what was noticed: {sentence}").format(sentence=sentence)


def brings(
    begin: str,
    key: str,
    unit: str,
    now: float,
    then: float,
    allowed: float | None = None,
    *,
    decided: bool = False,
) -> str:
    """Return what a candidate does for one characteristic: both numbers to the same place, one
    more than a value bears, so that a small step shows. decided: nothing hangs on it any more."""
    decimals = decimal_places(then)
    text = _("{begin} brings the uncertainty of {name} from {now} to {then}")
    if allowed is not None and now > allowed:
        text = (
            _("{begin} brings the uncertainty of {name} from {now} to {then}, enough to decide")
            if then <= allowed
            else _(
                "{begin} brings the uncertainty of {name} from {now} to {then}, still more than "
                "the {allowed} allowed"
            )
        )
    elif decided:
        text = _(
            "{begin} is not needed; it could still bring the uncertainty of {name} from {now} to "
            "{then}"
        )
    elif allowed is not None:
        text = _("{begin} could still bring the uncertainty of {name} from {now} to {then}")
    return text.format(
        begin=begin,
        name=labels.characteristic(key),
        now=spread(now, unit, decimals).replace("± ", "±"),
        then=spread(then, unit, decimals).replace("± ", "±"),
        allowed="" if allowed is None else f"±{exact(allowed, unit)}",
    )


def more_stations(following: str, *, decided: bool) -> str:
    """Return what one more station would do, while stations stand among the steps to come: these
    say themselves where the steering is turned. following: the first of them."""
    if decided:
        return _("more stations are not needed; they would only make the numbers surer")
    return _("what helps most is one more station: {name}").format(name=following)


def helps_all(begin: str, gain: float) -> str:
    """Return what a candidate does for all characteristics together."""
    return _("{begin} could still bring the uncertainties down by {percent} % on average").format(
        begin=begin, percent=rounded(100.0 * gain, 0)
    )


def stands(
    key: str, unit: str, expanded: float, allowed: float | None, *, decided: bool | None
) -> str:
    """Return how one characteristic stands: its uncertainty, and whether that suffices."""
    if not expanded:
        return f"{labels.characteristic(key)}: {senses.set_by_levelling()}"
    sure = spread(expanded, unit, places(expanded)).replace("± ", "±")
    if decided:
        text = _("{name}: {sure}, enough to decide")
    elif allowed is None:
        text = _("{name}: {sure}") if decided is None else _("{name}: {sure}, not decided")
    elif expanded > allowed:
        text = _("{name}: {sure}, too much to decide: at most {allowed} is allowed")
    else:
        text = _("{name}: {sure}, enough to decide, but the value lies too near a limit")
    most = "" if allowed is None else f"±{exact(allowed, unit)}"
    return text.format(name=labels.characteristic(key), sure=sure, allowed=most)


def overall(open_keys: Sequence[str], limited: int, still: int) -> str:
    """Return where the measurement stands as a whole."""
    if open_keys:
        names = ", ".join(labels.characteristic(key) for key in open_keys)
        return _("not decided yet: {names}").format(names=names)
    if not limited and still:
        return _("nothing that has a limit can be told yet: go on measuring")
    if not limited:
        return _("the reference sets no limit for what was measured: figures, but no finding")
    if still:
        return _("what was measured is decided; something is still missing")
    return _("every characteristic with a limit is decided; more points only sharpen the numbers")


def need(code: str, facts: Mapping[str, Fact]) -> str:
    """Return what is still needed."""
    lacking = [_lacking(part) for part in str(facts.get("lacking") or "").split(", ") if part]
    name = labels.characteristic(str(facts["key"])) if "key" in facts else ""
    return _(NEEDS[code]).format(name=name, lacking=", ".join(lacking))


def _lacking(part: str) -> str:
    """`steer_target / head_bore` or `pair.tail.left` in words."""
    return _(" or ").join(_place(name) for name in part.split(" / "))


def _place(name: str) -> str:
    feature, _dot, label = name.partition(".")
    return labels.feature(feature) + (f" {_named(label)}" if label else "")


def _named(name: str) -> str:
    return name.replace("_", " ").replace(".", " ")
