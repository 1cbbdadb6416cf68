"""What the shop's records are called: statuses, steps, roles, what is looked for, what is left."""

from app.wording.translation import _, later

ROLES: dict[str, str] = {
    "desk": later("desk"),
    "technician": later("technician"),
    "inspector": later("inspector"),
    "owner": later("owner"),
}

STATUSES: dict[str, str] = {
    "checked_in": later("checked in"),
    "measuring": later("measuring"),
    "measured": later("measured"),
    "correcting": later("correcting"),
    "to_sign": later("to sign"),
    "certified": later("certified"),
    "handed_over": later("handed over"),
    "cancelled": later("cancelled"),
}

STEPS: dict[str, str] = {
    "check_in": later("Check the machine in"),
    "reference": later("Choose the reference"),
    "instrument": later("Choose the instrument"),
    "visual_check": later("Do the visual check"),
    "measure_before": later("Measure before correction"),
    "correct": later("Correct the chassis"),
    "measure_after": later("Measure again"),
    "sign": later("Sign the certificate"),
    "hand_over": later("Hand the machine over"),
}

ITEMS: dict[str, str] = {
    "frame_cracks": later("cracks in the frame"),
    "frame_wrinkles": later("wrinkled or stretched metal in the frame"),
    "frame_paint": later("paint flaked off at welds of the frame"),
    "frame_welds": later("damaged welds of the frame"),
    "frame_heat_marks": later("heat marks on the frame"),
    "engine_mounts": later("cracked or bent engine mounts"),
    "rear_frame": later("bent rear frame"),
    "steering_stops": later("bent or broken steering stops"),
    "head_bearings": later("notched or loose head bearings"),
    "head_bearing_seats": later("damaged bearing seats in the steering head"),
    "fork_yokes": later("cracked or bent fork yokes"),
    "fork_tubes": later("bent or marked fork legs"),
    "wheel_cracks": later("cracks in the wheels"),
    "wheel_rims": later("dented or bent rims"),
    "wheel_axles": later("bent wheel axles"),
    "arm_cracks": later("cracks in the swing arm"),
    "arm_wrinkles": later("wrinkled or stretched metal in the swing arm"),
    "pivot_bearings": later("play or damaged bearing seats at the swing-arm pivot"),
    "suspension_links": later("cracked or bent suspension links"),
}

ITEM_GROUPS: tuple[tuple[str, tuple[str, ...]], ...] = (
    (later("Frame"), ("frame_cracks", "frame_wrinkles", "frame_paint", "frame_welds",
                      "frame_heat_marks", "engine_mounts", "rear_frame")),
    (later("Steering head"), ("steering_stops", "head_bearings", "head_bearing_seats")),
    (later("Fork"), ("fork_yokes", "fork_tubes")),
    (later("Wheels"), ("wheel_cracks", "wheel_rims", "wheel_axles")),
    (later("Swing arm"), ("arm_cracks", "arm_wrinkles", "pivot_bearings", "suspension_links")),
)  # fmt: skip
"""The list in its order, with what stands above each part of it."""

ITEM_PLACES: tuple[tuple[str, ...], ...] = (
    (later("steering head"), later("left spar"), later("right spar"), later("down tube"),
     later("engine mounts"), later("swing-arm pivot"), later("rear frame")),
    (later("left"), later("right"), later("upper"), later("lower")),
    (later("left"), later("right"), later("upper"), later("lower")),
    (later("front"), later("rear")),
    (later("left"), later("right"), later("at the pivot"), later("at the axle")),
)  # fmt: skip
"""Places to choose from, for each part of the list."""

ANSWERS: dict[str, str] = {
    "seen": later("seen"),
    "not_seen": later("looked, nothing seen"),
    "not_checked": later("not looked at"),
}

IMPACTS: dict[str, str] = {
    "front_on": later("front on"),
    "offset_front": later("front, to one side"),
    "side": later("from the side"),
    "rear": later("from behind"),
    "slide": later("slide"),
    "fall_at_standstill": later("fall at standstill"),
    "kerb_or_pothole": later("kerb or pothole"),
    "several": later("several"),
    "unknown": later("not known"),
}

RIDEABLE: dict[str, str] = {
    "yes": later("can be ridden"),
    "no": later("cannot be ridden"),
    "not_tried": later("not tried"),
}

PROVENANCE: dict[str, str] = {
    "maker": later("the maker's own data"),
    "measured_machines": later("sound machines that were measured"),
    "drawing": later("a drawing"),
    "common_practice": later("common practice"),
    "invented": later("invented, for trying the program"),
    "other": later("another source"),
}

KINDS: dict[str, str] = {
    "report": later("measurement report"),
    "completion": later("completion certificate"),
}

CERTIFICATE_STATUSES: dict[str, str] = {
    "issuing": later("being issued"),
    "valid": later("in force"),
    "distrusted": later("signature trusted no more"),
    "superseded": later("replaced"),
    "withdrawn": later("withdrawn"),
    "void": later("void"),
}

LINK_STATES: dict[str, str] = {
    "open": later("open"),
    "expired": later("expired"),
    "revoked": later("revoked"),
}


def role(code: str) -> str:
    return _(ROLES.get(code, code))


def status(code: str) -> str:
    return _(STATUSES.get(code, code))


def step(code: str) -> str:
    return _(STEPS.get(code, code))


def item(code: str) -> str:
    """Return what a line of the visual check looks for."""
    return _(ITEMS.get(code, code))


def item_group(code: str) -> str:
    """Return the part of the machine that an item of the visual check belongs to."""
    return _(ITEM_GROUPS[_group_of(code)][0])


def item_places(code: str) -> tuple[str, ...]:
    """Return places to choose from where something of this kind was seen."""
    return tuple(_(place) for place in ITEM_PLACES[_group_of(code)])


def _group_of(code: str) -> int:
    return next(i for i, (_name, items) in enumerate(ITEM_GROUPS) if code in items)


def answer(code: str) -> str:
    return _(ANSWERS.get(code, code))


def impact(code: str) -> str:
    return _(IMPACTS.get(code, code))


def rideable(code: str) -> str:
    return _(RIDEABLE.get(code, code))


def machine(make: str, model: str, year: int | None) -> str:
    """Return make, model and year in one line."""
    return f"{make} {model}" + (f" ({year})" if year else "")


def provenance(code: str) -> str:
    return _(PROVENANCE.get(code, code))


def kind(code: str) -> str:
    """Return what a kind of certificate is called."""
    return _(KINDS.get(code, code))


def certificate_of_measurement() -> str:
    """Return what a completion certificate is called where there was nothing to complete."""
    return _("certificate of measurement")


def certificate_status(code: str) -> str:
    return _(CERTIFICATE_STATUSES.get(code, code))


def link_state(code: str) -> str:
    return _(LINK_STATES.get(code, code))
