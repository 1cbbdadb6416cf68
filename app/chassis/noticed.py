"""What is noticed about points while they are taken: codes and facts, no sentence.

==================  ===========================================================================
code                feature; facts
==================  ===========================================================================
point_implausible   of the point; label, distance_mm (from the pivot axis), lowest_mm, highest_mm,
                    reason: `far`; `unit` (unit: it would fit read in it); `sign` or `comma`
                    (axis: it would fit with that coordinate's sign changed, its decimal point
                    moved by one place); `fits` (fits, fits_label: where it would fit); `or_datum`
                    (nothing tells yet whether it or the pivot was read wrongly)
reading_off         of the point; label, x_mm, y_mm, z_mm: nothing is left to be noticed without it
repeats_apart       of the points; label, distance_mm, limit_mm: readings of one place
apart_implausible   of the points; label, other, distance_mm (between them), lowest_mm, highest_mm,
                    reason: `far`, `unit` (unit)
same_place          of the later point; label, other, other_label, distance_mm
sides_swapped       of the points; label (of the pair or None), distance_mm (by how much left lies
                    to the right)
side_contradicts    of the point; label, distance_mm (how far it lies on the other side)
axes_contradict     `up`; agreement, needed_agreement: up, left and ahead cannot all be right
turns_contradict    `steer_target`; left_deg, right_deg: mean angles of the stations called left
                    and right; its points are all of theirs
targets_apart       `steer_target`; one, other, station, met_mm, needed_mm: their distance there,
                    and at the other stations
targets_swapped     `steer_target`; one, other, station
off_its_circle      `steer_target`; label, station, distance_mm, limit_mm: from the circle through
                    its other stations
station_near        `steer_target`; station, other, met_deg, needed_deg
targets_close       `steer_target`; one, other, met_mm, needed_mm
targets_stacked     `steer_target`; one, other, met_deg, needed_deg: round the axis
targets_opposite    the same
set_up_moved        None; scope: `steering` (the targets alone), `everything`, `unknown` (the datum
                    was not measured again yet); reason `<scope>_at`: station, which the returned
                    targets stand nearest to; slipped, slipped_label, slip_mm, slip_u_mm: the place
                    that lies farthest from where it lay, by how much, its expanded uncertainty
stations_disagree   `steer_target`; other: the returned targets lie as they lay at that station,
                    which does not fit the others
return_elsewhere    `steer_target`; label, distance_mm, limit_mm: a returned target lies this far
                    from where any turn brings it; reason `turn`: turned_deg, station, limit_deg
station_again       `steer_target`; station, turned_deg: which station a return repeats, and how
                    far beside it the steering stands; nothing is wrong
==================  ===========================================================================

A refusal of the engine that no missing point explains is told as well, by its own code.
"""

from typing import NamedTuple

from app.errors import Fact

Facts = tuple[tuple[str, Fact], ...]


class Noticed(NamedTuple):
    """points: places in the survey; grave: something cannot be as it is, not merely advice."""

    code: str
    feature: str | None
    facts: Facts
    points: tuple[int, ...] = ()
    grave: bool = True
