"""What characteristics, features and sources of uncertainty are called, and what they are."""

from app.wording.translation import _, later

NAMES: dict[str, str] = {
    "head_twist": later("head twist"),
    "head_offset": later("head offset"),
    "axis_distance": later("steering axis from pivot axis"),
    "face_position": later("head face along the steering axis"),
    "face_squareness": later("head face against the steering axis"),
    "head_reach": later("head reach"),
    "head_height": later("head height"),
    "head_angle": later("head angle"),
    "pivot_width": later("pivot width"),
    "bore_runout": later("run-out of the bearing seats"),
    "arm_length": later("arm length"),
    "axle_toe": later("rear axle toe"),
    "axle_twist": later("rear axle twist"),
    "axle_offset": later("rear axle offset"),
    "datum_roll": later("pivot axis roll"),
    "datum_yaw": later("pivot axis yaw"),
    "datum_shift": later("pivot shift"),
    "fork_spread": later("fork legs, spread"),
    "fork_cross": later("fork legs, crossed"),
    "fork_spacing": later("fork legs, spacing"),
    "fork_rake": later("fork rake"),
    "fork_lean": later("fork lean"),
    "fork_offset": later("fork offset"),
    "wheel_lean": later("wheels, lean"),
    "wheel_track": later("wheels, track"),
    "front_wheel_lean": later("front wheel lean"),
    "front_wheel_offset": later("front wheel offset"),
    "pair_offset": later("{name}: offset of the pair"),
    "pair_roll": later("{name}: roll of the pair"),
    "pair_skew": later("{name}: skew of the pair"),
    "axis_toe": later("{name}: toe of the axis"),
    "axis_twist": later("{name}: twist of the axis"),
    "control": later("{name}, {second}"),
    "distance": later("distance from {name} to {second}"),
    "normal_trail_mm": later("normal trail"),
    "trail_mm": later("trail"),
    "front_contact_mm": later("front wheel's contact"),
    "rear_contact_mm": later("rear wheel's contact"),
    "wheel_line_mm": later("front contact off the rear wheel's line"),
}

DESCRIPTIONS: dict[str, str] = {
    "head_twist": later("how far the steering axis is from square to the swing-arm pivot axis"),
    "head_offset": later("how far the head stands to one side of the middle of the pivot"),
    "axis_distance": later("from the pivot axis to the steering axis, seen from the side"),
    "face_position": later("where the lower head face stands along the steering axis"),
    "face_squareness": later("how far the lower head face is from square to the steering axis"),
    "head_reach": later("how far the head face is ahead of the pivot axis"),
    "head_height": later("how far the head face is above the pivot axis"),
    "head_angle": later("the steering axis from the vertical, seen from the side (castor angle)"),
    "pivot_width": later("between the frame's outer faces beside the pivot"),
    "bore_runout": later("how far the bearing seats are from one line"),
    "arm_length": later("from the pivot axis to the middle of the rear axle"),
    "axle_toe": later("how far the rear axle is from square to the arm, seen from above"),
    "axle_twist": later("rear axle against the pivot axis, seen from behind along the arm"),
    "axle_offset": later("how far the middle of the rear axle stands to one side"),
    "pair_offset": later("how far the middle of the pair stands to one side"),
    "pair_roll": later("how far the pair is from level, seen from behind"),
    "pair_skew": later("how far the pair is from square to the mid-plane, seen from above"),
    "axis_toe": later("how far this axis is from square to the mid-plane, seen from above"),
    "axis_twist": later("how far this axis is from level, seen from behind"),
    "control": later("the control point against where the reference has it"),
    "distance": later("between the two control points, needs no datum"),
    "datum_roll": later("pivot axis from level, seen from behind, among the control points"),
    "datum_yaw": later("pivot axis from square, seen from above, among the control points"),
    "datum_shift": later("middle of the pivot to one side, among the control points"),
    "fork_spread": later("how far the legs are from parallel, seen from the front"),
    "fork_cross": later("how far the legs are from parallel, seen from the side"),
    "fork_spacing": later("between the legs' centrelines, half way up"),
    "fork_rake": later("the legs against the steering axis, seen from the side"),
    "fork_lean": later("the legs against the steering axis, seen from the front"),
    "fork_offset": later("how far the legs stand ahead of the steering axis"),
    "wheel_lean": later("front wheel against rear wheel, seen from behind, steering straight"),
    "wheel_track": later("front wheel beside the rear wheel's mid-plane, steering straight"),
    "front_wheel_lean": later("the front wheel's plane against the steering axis"),
    "front_wheel_offset": later("how far the front wheel stands to one side of the head"),
    "normal_trail_mm": later("from the steering axis to the front contact, square to the axis"),
    "trail_mm": later("from the steering axis to the front contact, along the ground"),
    "front_contact_mm": later("where the front wheel meets the ground, steering straight"),
    "rear_contact_mm": later("where the rear wheel meets the ground"),
    "wheel_line_mm": later("how far the front contact stands beside the rear wheel's line"),
}

FEATURES: dict[str, str] = {
    "pivot": later("swing-arm pivot axis"),
    "pivot_face": later("frame face beside the pivot"),
    "steer_target": later("steering target"),
    "head_bore": later("bearing seat in the head"),
    "head_face": later("lower head face"),
    "level_line": later("levelling point"),
    "control": later("control point"),
    "pair": later("symmetric pair"),
    "rear_axle": later("rear axle"),
    "axle_face": later("wheel face of the arm"),
    "fork_leg": later("fork leg"),
    "front_rim": later("front rim"),
    "rear_rim": later("rear rim"),
    "axis": later("further axis"),
}

AXES = {"x": later("forward"), "y": later("sideways"), "z": later("upward")}
SIDES = {"left": later("left"), "right": later("right")}
PHASES = {"before": later("before"), "during": later("during"), "after": later("after")}

SOURCES: dict[str, str] = {
    "reference": later("the reference's own values"),
    "instrument_scale": later("the instrument's scale"),
    "instrument_offset": later("the probe's offset"),
    "temperature": later("temperature and expansion of the parts"),
    "expansion": later("how much the metal expands"),
    "face_squareness": later("how square the faces are"),
    "target_spacing": later("the spacing of the targets"),
    "wheel_runout": later("the run-out of the wheels"),
}
PARTS: dict[str, str] = {
    "frame": later("frame"),
    "arm": later("swing arm"),
    "fork": later("fork"),
    "wheel": later("wheels"),
}
"""What is made of one material."""


def characteristic(key: str) -> str:
    """Return the name of a characteristic, with the name of what it speaks of."""
    first, *rest = key.split(".")
    if first not in NAMES:
        return key
    name, second = (*map(named, rest), "", "")[:2]
    if first == "control" and second in AXES:
        second = _(AXES[second])
    return _(NAMES[first]).format(name=name, second=second)


def description(key: str) -> str:
    """Return what a characteristic is, in one clause; empty when it is not known."""
    return _(DESCRIPTIONS.get(key.partition(".")[0], ""))


def feature(name: str) -> str:
    """Return what a feature of a survey is called; an unknown one is given back as it is."""
    base = name.split(".")[0]
    return _(FEATURES[base]) if base in FEATURES else name


def source(name: str) -> str:
    """Return what a source of uncertainty is called: `how much the metal expands (swing arm)`."""
    first, *rest = name.split(".")
    text = _(SOURCES[first]) if first in SOURCES else feature(first)
    if text == first:
        return named(name)
    of = ", ".join(_(PARTS[part]) if part in PARTS else named(part) for part in rest)
    return _("{source} ({of})").format(source=text, of=of) if of else text


def phase(name: str) -> str:
    return _(PHASES.get(name, name))


def named(name: str) -> str:
    """Return a name from a survey as people write it: `engine_front_left` without underscores."""
    return name.replace("_", " ")
