"""What happened in the demonstration shop: one story a machine, told through the services.

A story yields the moment at which its next act takes place and goes on when that moment has
come, so that all stories together happen in the order of time.
"""

from collections.abc import Callable, Iterator
from dataclasses import replace
from datetime import datetime

from app.demonstration import cast, pictures
from app.demonstration.models import BJERG, LOM, SKARV
from app.demonstration.rigs import Rig
from app.demonstration.shopfloor import Shopfloor
from app.services import jobs, sending_back

Story = Iterator[datetime]

INSTRUCTION = "works repair handbook for this model, section 6 (invented)"

RIG = Rig(pivot_mm=(250.0, -250.0), head_face_points=3)
COARSE = replace(RIG, noise_mm=0.6, offset_u_mm=0.1)
MOVED = replace(RIG, slip_mm=(0.0, 2.5, 1.5))


def in_order(floor: Shopfloor) -> Story:
    """Fell over at a standstill; nothing is bent. Waits for the inspector."""
    yield floor.at(-3, 9.0)
    number = floor.check_in(
        cast.arrival(
            1, "Åse Example", SKARV,
            incident={"impact_kind": "fall_at_standstill", "account": "Fell off its side stand."},
            rideable="yes", promised_on=floor.promised(2),
            damage=[{"zone": "handlebar", "side": "left", "look": "cracked",
                     "note": "lever bent, mirror broken"}],
        )
    )  # fmt: skip
    floor.sign_order(number, "Åse Example (invented)")
    yield floor.at(-2, 10.0)
    floor.prepare(number, SKARV)
    yield floor.at(-2, 11.5)
    sound = SKARV.bent(head_twist_deg=0.03, head_offset_mm=0.2)
    floor.measure(number, sound, RIG, seed=101, phase="before")


def bent_and_corrected(floor: Shopfloor) -> Story:
    """Ran into a van; the head was pulled forward again. Certified, waits to be fetched."""
    yield floor.at(-9, 8.5)
    number = floor.check_in(
        cast.arrival(
            2, "Bo Sample", SKARV,
            claim={"insurer_id": floor.insurers[0], "claim_number": "CL/INV-0042",
                   "adjuster": "Ada Adjuster (invented)", "adjuster_phone": "+00 555 0190"},
            incident={"impact_kind": "front_on", "clock_direction": 12,
                      "account": "Ran into the back of a van at about 40 km/h."},
            rideable="no",
            damage=[{"zone": "front_wheel", "look": "bent"}, {"zone": "fork", "look": "bent"},
                    {"zone": "tank", "side": "right", "look": "dented"}],
            authorised_scope="measure, report, and correct what may be corrected",
        )
    )  # fmt: skip
    came = "as it came in (a drawing, invented)"
    floor.photograph("desk", number, pictures.as_it_came_in(), "zone.front_wheel", came)
    yield floor.at(-8, 9.0)
    floor.prepare(number, SKARV)
    yield floor.at(-8, 10.5)
    bent = SKARV.bent(head_twist_deg=-1.1, head_reach_mm=-11.0, head_offset_mm=2.6)
    floor.measure(number, bent, RIG, seed=201, phase="before")
    yield floor.at(-7, 14.0)
    floor.correct(
        number, "head", "pulled",
        "Pulled the head forward by 8 mm and turned it clockwise; held for ten minutes.",
        instruction=INSTRUCTION,
    )  # fmt: skip
    yield floor.at(-7, 15.0)
    halfway = SKARV.bent(head_twist_deg=-0.4, head_reach_mm=-4.6, head_offset_mm=0.9)
    floor.measure(number, halfway, RIG, seed=202, phase="during")
    yield floor.at(-6, 9.5)
    floor.correct(
        number, "head", "pulled", "Pulled another 4 mm and let the frame rest overnight.",
        instruction=INSTRUCTION,
    )  # fmt: skip
    new = "Both tubes and the lower yoke replaced by new ones; front axle replaced."
    floor.correct(number, "fork", "replaced", new)
    yield floor.at(-5, 9.0)
    straight = SKARV.bent(head_twist_deg=0.04, head_reach_mm=-0.4, head_offset_mm=0.2)
    floor.measure(number, straight, RIG, seed=203, phase="after")
    yield floor.at(-5, 13.0)
    floor.certify(number, "completion")
    floor.share(number)


def undecided(floor: Shopfloor) -> Story:
    """Measured with a gauge that is too coarse for the question; sent back by the inspector."""
    yield floor.at(-2, 8.75)
    number = floor.check_in(
        cast.arrival(
            3, "Cilla Specimen", LOM,
            incident={"impact_kind": "slide", "clock_direction": 9,
                      "account": "Slid off the road in the wet."},
            rideable="no", promised_on=floor.promised(4),
            damage=[{"zone": "headlamp", "side": "right", "look": "scratched"},
                    {"zone": "foot_rest", "side": "right", "look": "bent"}],
        )
    )  # fmt: skip
    yield floor.at(-1, 9.0)
    floor.prepare(number, LOM, floor.gauge)
    yield floor.at(-1, 11.0)
    doubtful = LOM.bent(head_twist_deg=0.2, head_reach_mm=-1.5)
    floor.measure(number, doubtful, COARSE, seed=301, phase="before")
    yield floor.at(-1, 15.0)
    floor.do(
        sending_back.send_back, "inspector", number,
        "The gauge is too coarse for this question. Please measure again with the arm.",
    )  # fmt: skip


def set_up_moved(floor: Shopfloor) -> Story:
    """Somebody leaned on the bench between the first point and the last."""
    yield floor.at(-2, 9.5)
    number = floor.check_in(
        cast.arrival(
            4, "Dag Instance", SKARV,
            claim={"insurer_id": floor.insurers[1], "claim_number": "2026/INV/118"},
            incident={"impact_kind": "offset_front", "clock_direction": 1},
            rideable="no", damage=[{"zone": "fork", "look": "bent"}],
            visible_damage=["radiator torn off"],
        )
    )  # fmt: skip
    yield floor.at(-1, 13.0)
    floor.prepare(number, SKARV)
    yield floor.at(-1, 14.5)
    bent = SKARV.bent(head_twist_deg=0.7, head_reach_mm=-6.0)
    floor.measure(number, bent, MOVED, seed=401, phase="before")
    question = "Is the top case his? It is in the way of the rear targets."
    floor.ask_for_call("technician", number, "customer", question)


def to_be_replaced(floor: Shopfloor) -> Story:
    """Aluminium, bent beyond the works' limit, and cracked: reported, to be replaced."""
    yield floor.at(-12, 10.0)
    number = floor.check_in(
        cast.arrival(
            5, "Elin Muster", BJERG,
            claim={"insurer_id": floor.insurers[0], "claim_number": "CL/INV-0043"},
            incident={"impact_kind": "several", "account": "Highside on a closed track."},
            rideable="no", visible_damage=["frame cracked at the head", "swing arm scraped"],
        )
    )  # fmt: skip
    came = "as it came in (a drawing, invented)"
    floor.photograph("desk", number, pictures.as_it_came_in(), "zone.frame", came)
    yield floor.at(-11, 9.0)
    seen = {
        "frame_cracks": "left spar, beside its weld to the head, 20 mm",
        "fork_tubes": "both bent",
    }
    floor.prepare(number, BJERG, seen=seen)
    crack = "crack in the left spar, beside its weld (a drawing, invented)"
    floor.photograph("technician", number, pictures.cracked_head(), "item.frame_cracks", crack)
    yield floor.at(-11, 11.0)
    bent = BJERG.bent(head_twist_deg=1.6, head_reach_mm=-14.0, head_offset_mm=-4.0)
    floor.measure(number, bent, RIG, seed=501, phase="before")
    yield floor.at(-10, 10.0)
    floor.certify(number, "report")


def just_checked_in(floor: Shopfloor) -> Story:
    """Came in an hour ago."""
    yield floor.at(0, -1.0)
    floor.check_in(
        cast.arrival(
            6, "Frode Prøve", SKARV,
            incident={"impact_kind": "side", "clock_direction": 3},
            damage=[{"zone": "tank", "side": "right", "look": "scratched"},
                    {"zone": "exhaust", "side": "right", "look": "scratched"}],
            authorised_by="", privacy_notice_given=False,
        )
    )  # fmt: skip


def on_the_floor(floor: Shopfloor) -> Story:
    """Half of the points are taken."""
    yield floor.at(-1, 15.5)
    number = floor.check_in(
        cast.arrival(
            7, "Gro Utkast", LOM,
            claim={"insurer_id": floor.insurers[1], "claim_number": "2026/INV/121"},
            incident={"impact_kind": "kerb_or_pothole", "clock_direction": 12},
            rideable="yes", visible_damage=["front rim dented"],
        )
    )  # fmt: skip
    yield floor.at(0, -0.75)
    floor.prepare(number, LOM)
    yield floor.at(0, -0.25)
    bent = LOM.bent(head_twist_deg=0.1, head_reach_mm=-3.0)
    floor.begin(number, bent, RIG, seed=701, points=11)


def handed_over(floor: Shopfloor) -> Story:
    """In order, certified, fetched last week."""
    yield floor.at(-16, 9.0)
    number = floor.check_in(
        cast.arrival(
            8, "Håkon Gjennomsnitt", LOM,
            incident={"impact_kind": "rear", "clock_direction": 6,
                      "account": "A car rolled into it at a traffic light."},
            rideable="yes", visible_damage=["tail light broken"],
        )
    )  # fmt: skip
    yield floor.at(-15, 9.0)
    floor.prepare(number, LOM)
    yield floor.at(-15, 10.5)
    sound = LOM.bent(head_twist_deg=-0.05, head_reach_mm=0.3)
    floor.measure(number, sound, RIG, seed=801, phase="before")
    yield floor.at(-14, 9.0)
    floor.certify(number, "completion")
    yield floor.at(-13, 16.0)
    floor.do(jobs.hand_over, "desk", number, "Håkon Gjennomsnitt (invented)")


def cancelled(floor: Shopfloor) -> Story:
    """The insurer paid out before anybody measured."""
    yield floor.at(-8, 11.0)
    number = floor.check_in(
        cast.arrival(
            9, "Ingrid Blank", BJERG,
            claim={"insurer_id": floor.insurers[1], "claim_number": "2026/INV/099"},
            incident={"impact_kind": "unknown"}, rideable="no", visible_damage=["burnt"],
        )
    )  # fmt: skip
    yield floor.at(-7, 9.0)
    floor.do(jobs.cancel, "desk", number, "Burnt; the insurer pays out without a measurement.")


def in_correction(floor: Shopfloor) -> Story:
    """Found bent, pulled once, to be measured again."""
    yield floor.at(-4, 9.0)
    number = floor.check_in(
        cast.arrival(
            10, "Jon Mønster", SKARV,
            incident={"impact_kind": "front_on", "clock_direction": 11},
            rideable="no", damage=[{"zone": "fork", "look": "bent"}],
            promised_on=floor.promised(-1),
            authorised_scope="measure, report, and correct what may be corrected",
        )
    )  # fmt: skip
    yield floor.at(-3, 10.0)
    floor.prepare(number, SKARV)
    yield floor.at(-3, 13.0)
    bent = SKARV.bent(head_twist_deg=0.9, head_reach_mm=-7.5)
    floor.measure(number, bent, RIG, seed=1001, phase="before")
    yield floor.at(-1, 16.0)
    floor.correct(number, "head", "pulled", "Pulled the head forward by 7 mm.")


ACTS = 37
"""How many acts all stories have together, so that one can tell how far they are."""

STORIES: tuple[Callable[[Shopfloor], Story], ...] = (
    in_order,
    bent_and_corrected,
    undecided,
    set_up_moved,
    to_be_replaced,
    just_checked_in,
    on_the_floor,
    handed_over,
    cancelled,
    in_correction,
)
