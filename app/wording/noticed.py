"""What is noticed while points are taken, in three parts. Variants stand as `code:reason`."""

from collections.abc import Mapping, Sequence
from typing import Protocol

from app.errors import Fact, Refusal
from app.wording import elements, labels
from app.wording.errors import explain
from app.wording.explanation import Explanation, Table, filled
from app.wording.numbers import places, size, spread
from app.wording.translation import _, counted, later

_MEASURE_AGAIN = later("check what was touched, and measure it again")
_NOT_THE_TARGET = later(
    "take it back and touch the targets; if machine or instrument moved meanwhile, measure both "
    "ends of the pivot and one face again"
)

TABLE: Table = {
    "point_implausible": Explanation(
        later("{where} lies {distance_mm} mm from the pivot axis"),
        later("{lowest_mm} to {highest_mm} mm is expected there"),
        _MEASURE_AGAIN,
    ),
    "point_implausible:unit": Explanation(
        later("{where} lies {distance_mm} mm from the pivot axis, but fits as a reading in {unit}"),
        later("{lowest_mm} to {highest_mm} mm is expected there"),
        later("set the instrument to millimetres, and measure it again"),
    ),
    "point_implausible:sign": Explanation(
        later(
            "{where} lies {distance_mm} mm from the pivot axis, but fits with the sign of {axis} "
            "changed"
        ),
        later("{lowest_mm} to {highest_mm} mm is expected there"),
        later("compare the reading with the instrument, and enter it again"),
    ),
    "point_implausible:comma": Explanation(
        later(
            "{where} lies {distance_mm} mm from the pivot axis, but fits with the decimal point of "
            "{axis} moved by one place"
        ),
        later("{lowest_mm} to {highest_mm} mm is expected there"),
        later("compare the reading with the instrument, and enter it again"),
    ),
    "point_implausible:fits": Explanation(
        later("{where} lies {distance_mm} mm from the pivot axis, where {fits} would be"),
        later("{lowest_mm} to {highest_mm} mm is expected there"),
        later("take it back and measure the part that this step asks for"),
    ),
    "point_implausible:or_datum": Explanation(
        later(
            "{where} lies {distance_mm} mm from the pivot axis: either this reading is off, or one "
            "of the pivot's"
        ),
        later("{lowest_mm} to {highest_mm} mm is expected there"),
        later("compare both with the instrument, and replace the one that is wrong"),
    ),
    "side_contradicts:or_datum": Explanation(
        later(
            "{where} lies {distance_mm} mm on the other side of the middle of the pivot: either "
            "this reading is off, or one of the pivot's"
        ),
        later("left and right as the rider sits are needed"),
        later("compare both with the instrument, and replace the one that is wrong"),
    ),
    "reading_off": Explanation(
        later(
            "{where}: the reading X {x_mm}, Y {y_mm}, Z {z_mm} contradicts the others; without it "
            "they agree"
        ),
        later("readings that agree are needed"),
        later("compare it with the instrument, then replace it or take it back"),
    ),
    "repeats_apart": Explanation(
        later("{where} was measured more than once, and the readings lie {distance_mm} mm apart"),
        later("at most {limit_mm} mm is expected of one place"),
        later("compare them with the instrument, and take the wrong one back"),
    ),
    "apart_implausible": Explanation(
        later("{where} and {other} lie {distance_mm} mm apart"),
        later("{lowest_mm} to {highest_mm} mm is expected"),
        later("check which of the two was touched wrongly, and measure it again"),
    ),
    "apart_implausible:unit": Explanation(
        later("{where} and {other} lie {distance_mm} mm apart, but fit as readings in {unit}"),
        later("{lowest_mm} to {highest_mm} mm is expected"),
        later("set the instrument to millimetres, and measure both again"),
    ),
    "same_place": Explanation(
        later("{where} lies only {distance_mm} mm from {other}"),
        later("each is a place of its own"),
        later("check whether one reading was taken for both, and measure the later one again"),
    ),
    "sides_swapped": Explanation(
        later("{where}: the left one lies {distance_mm} mm to the right of the right one"),
        later("left and right as the rider sits are needed"),
        later("check the sides of both, and measure them again"),
    ),
    "side_contradicts": Explanation(
        later("{where} lies {distance_mm} mm on the other side of the middle of the pivot"),
        later("left and right as the rider sits are needed"),
        later("check its side, and the sides of the pivot, and measure it again"),
    ),
    "axes_contradict": Explanation(
        later("left, ahead and up contradict each other"),
        later("the pivot's sides, the direction that is up and the instrument's axes must agree"),
        later(
            "check that left and right of the pivot were not exchanged, that the axis that points "
            "up is the one stated, and that the instrument's axes are right-handed"
        ),
    ),
    "turns_contradict": Explanation(
        later("the stations turned left stand to the right of those turned right"),
        later("left as the rider sits is needed"),
        later(
            "if the steering was turned the other way, take these stations back and measure each "
            "at its own step; else check which axis points up, and that the instrument's axes are "
            "right-handed"
        ),
    ),
    "targets_apart": Explanation(
        later("targets {one} and {other} are {met_mm} mm apart at station {station}"),
        later("{needed_mm} mm as at the other stations is needed: the rig is rigid"),
        later(
            "measure that station again; if it stays so, fix the targets and measure all stations "
            "again"
        ),
    ),
    "targets_swapped": Explanation(
        later("at station {station} targets {one} and {other} have changed places"),
        later("each target keeps its name at every station"),
        later("take that station back and measure it with the right names"),
    ),
    "off_its_circle": Explanation(
        later(
            "target {label} at station {station} lies {distance_mm} mm off the circle of its other "
            "stations"
        ),
        later("at most {limit_mm} mm is needed"),
        later("measure that station again, with the steering held still"),
    ),
    "station_near": Explanation(
        later("station {station} is turned only {met_deg}° from station {other}"),
        later("{needed_deg}° or more is needed to tell anything new"),
        later("turn the steering further and measure one more station"),
    ),
    "targets_close": Explanation(
        later("targets {one} and {other} are only {met_mm} mm apart"),
        later("{needed_mm} mm or more makes a rig that sees the axis well"),
        later("put them farther apart, at different heights, and begin the stations again"),
    ),
    "targets_stacked": Explanation(
        later("targets {one} and {other} stand only {met_deg}° apart round the steering axis"),
        later("{needed_deg}° or more is needed for a sure head reach"),
        later("move one of them round the axis and measure the stations again, or add a third"),
    ),
    "targets_opposite": Explanation(
        later("targets {one} and {other} stand {met_deg}° apart round the steering axis"),
        later("{needed_deg}° or less is needed for a sure head twist"),
        later("move one of them round the axis and measure the stations again, or add a third"),
    ),
    "set_up_moved": Explanation(
        later("what was measured again does not lie where it lay: machine or instrument moved"),
        later("one set-up that stands still from the first point to the last is needed"),
        later(
            "first touch the same place once more; if it stays so, find what moved, fix it, and "
            "start again: what was measured so far is kept apart"
        ),
    ),
    "set_up_moved:steering": Explanation(
        later("the targets do not come back to their places, but the pivot does: the rig moved"),
        later("targets that keep their places on the steering are needed"),
        later(
            "first touch the same targets once more; if it stays so, fix the rig and measure all "
            "stations again: the earlier ones are kept apart"
        ),
    ),
    "set_up_moved:steering_at": Explanation(
        later(
            "the targets, turned as at station {station}, do not lie as they lay there, but the "
            "pivot does: the rig moved, or one target was not touched at its middle"
        ),
        later("targets that keep their places on the steering are needed"),
        later(
            "take this station back and measure it again; if it stays so, fix the rig and measure "
            "all stations again: the earlier ones are kept apart"
        ),
    ),
    "set_up_moved:unknown_at": Explanation(
        later("the targets, turned as at station {station}, do not lie as they lay there"),
        later("the pivot measured again tells whether the machine moved, or only the targets"),
        later(
            "touch the target that lies farthest off once more; if it stays so, measure both ends "
            "of the pivot and one face again"
        ),
    ),
    "stations_disagree": Explanation(
        later(
            "the targets lie as they lay at station {other}, so they have not moved since; but "
            "that station does not fit the others"
        ),
        later("stations of one rigid rig, turned about one axis, are needed"),
        later(
            "look whether a cable or a steering stop pulls there, take station {other} and this "
            "one back, and measure both again"
        ),
    ),
    "return_elsewhere": Explanation(
        later(
            "{where}, measured once more, does not belong to this target: it lies {distance_mm} mm "
            "from where any turn of the steering brings it"
        ),
        later("the same target is needed, {limit_mm} mm from there at most"),
        _NOT_THE_TARGET,
    ),
    "return_elsewhere:turn": Explanation(
        later(
            "what was touched here does not belong to the targets: the steering would stand "
            "{turned_deg}° beside station {station}"
        ),
        later("at most {limit_deg}° is expected, by the stations measured"),
        _NOT_THE_TARGET,
    ),
    "station_again": Explanation(
        later("found again: station {station}, {turned_deg}° beside where the steering stood"),
        later("any station will do, and the turn need not be the same"),
        later("go on"),
    ),
    "set_up_moved:unknown": Explanation(
        later("the targets do not come back to their places"),
        later("the pivot measured again tells whether the machine moved, or only the targets"),
        later("measure both ends of the pivot and one face again"),
    ),
}


MOST_NAMED = 3
SLIPPED = later("{met} ({place}: {far} away, {sure})")


def noticed(code: str, feature: str | None, facts: Mapping[str, Fact]) -> Explanation:
    """Return what was noticed in three parts; a refusal of the engine in its own words."""
    reason = facts.get("reason") or facts.get("scope")
    clauses = TABLE.get(f"{code}:{reason}") or TABLE.get(code)
    if clauses is None:
        return explain(Refusal(code, feature, **dict(facts)))
    found = filled(clauses, {**_rounded(facts), **_in_words(feature, facts)})
    if "slip_mm" not in facts:
        return found
    return found._replace(met=_(SLIPPED).format(met=found.met, **_slip(facts)))


def _slip(facts: Mapping[str, Fact]) -> dict[str, str]:
    """By how much the place moved that moved most, with its uncertainty to the same digit."""
    feature, label = facts.get("slipped"), facts.get("slipped_label")
    decimals = places(float(str(facts["slip_u_mm"])))
    return {
        "place": place(None if feature is None else str(feature), label),
        "far": size(float(str(facts["slip_mm"])), "mm", decimals),
        "sure": spread(float(str(facts["slip_u_mm"])), "mm", decimals).replace("± ", "±"),
    }


def _rounded(facts: Mapping[str, Fact]) -> dict[str, Fact]:
    """To what a person at the machine reads at a glance."""
    decimals = {"_mm": 1, "deg": 1}
    return {
        name: round(value, decimals[name[-3:]])
        if isinstance(value, float) and name[-3:] in decimals
        else value
        for name, value in facts.items()
    }


def _in_words(feature: str | None, facts: Mapping[str, Fact]) -> dict[str, Fact]:
    words: dict[str, Fact] = {"where": place(feature, facts.get("label"))}
    called = labels.named if feature == "steer_target" else _name
    for name in ("one", "other", "label"):
        if isinstance(facts.get(name), str):
            words[name] = called(str(facts[name]))
    if isinstance(facts.get("station"), str):
        words["station"] = station(str(facts["station"]))
    if isinstance(facts.get("other"), str) and "other_label" in facts:
        words["other"] = place(str(facts["other"]), facts.get("other_label"))
    if feature == "steer_target" and not {"one", "other_label"} & facts.keys():
        words["other"] = station(str(facts.get("other")))
    if isinstance(facts.get("fits"), str):
        words["fits"] = place(str(facts["fits"]), facts.get("fits_label"))
    if isinstance(facts.get("unit"), str):
        words["unit"] = _(UNITS[str(facts["unit"])])
    return words


UNITS = {
    "metres": later("metres"),
    "inches": later("inches"),
    "centimetres": later("centimetres"),
}

STATIONS = {
    "left": later("left"),
    "half_left": later("half left"),
    "ahead": later("straight ahead"),
    "half_right": later("half right"),
    "right": later("right"),
}


def station(name: str) -> str:
    """Return what a station of the steering is called."""
    if name == "return" or (name.startswith("return") and name[6:].isdigit()):
        number = int(name[6:] or 1)
        once = _("measured once more")
        return once if number == 1 else _("measured once more ({number})").format(number=number)
    if name == "half_turn":
        return _("half a turn on")
    return _(STATIONS[name]) if name in STATIONS else labels.named(name)


def place(feature: str | None, label: object) -> str:
    """Return a feature with its label: `frame face beside the pivot, left`."""
    called = labels.feature(feature) if feature else _("the points")
    if not isinstance(label, str) or not label:
        return called
    end = labels.named(label) if feature == "steer_target" else _name(label)
    return _("{name}, {end}").format(name=called, end=end)


def _name(text: str) -> str:
    return _(elements.ENDS[text]) if text in elements.ENDS else labels.named(text).replace(".", " ")


class Met(Protocol):
    """Something noticed, as far as it is named in short."""

    @property
    def met(self) -> str: ...


def short(told: Sequence[Met]) -> str:
    """Return what was noticed in one clause: the first of it, and how much more."""
    named = "; ".join([one.met for one in told[:MOST_NAMED]])
    more = len(told) - MOST_NAMED
    if more <= 0:
        return named
    text = counted("{named}; and {count} more", "{named}; and {count} more", more)
    return text.format(named=named, count=more)
