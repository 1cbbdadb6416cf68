"""What the engine gives back: frozen values and codes, no sentence.

Values stand in the unit of their characteristic (`deg` or `mm`), as they go to a person.
"""

from typing import NamedTuple

from app.chassis.survey import Floats

ENGINE_VERSION = "1"


class Share(NamedTuple):
    """Part of a characteristic's variance that one source contributes (0 to 1)."""

    source: str
    share: float


class Characteristic(NamedTuple):
    key: str
    unit: str
    value: float
    standard_uncertainty: float
    degrees_of_freedom: float | None
    """None: infinite."""
    expanded_uncertainty: float
    coverage_factor: float
    nominal: float | None
    deviation: float | None
    lower: float | None
    upper: float | None
    required: bool
    probability_within: float | None
    probability_above: float | None
    probability_below: float | None
    verdict: str
    """`within`, `outside`, `undecided`, `no_tolerance`."""
    side: str | None
    """`above` or `below` when outside."""
    cannot_decide: bool
    """The expanded uncertainty exceeds half the width of a two-sided tolerance."""
    set_by_levelling: bool
    sense_code: str
    budget: tuple[Share, ...]


class Finding(NamedTuple):
    verdict: str
    probability_all: float | None
    required: int
    missing: tuple[str, ...]


class RigCheck(NamedTuple):
    verdict: str
    """`steady`, `moved`, `not_checked`."""
    scope: str
    """`datum_and_steering`, `steering_only`, `datum_only`, `none`."""
    statistic: float | None
    limit: float | None
    degrees_of_freedom: int | None
    detectable_slip_mm: float | None
    """A shift of the set-up that would have been caught 9 times in 10, in the weakest direction
    that is not blind."""
    weakest_direction: tuple[float, float, float] | None = None
    """Unit vector of that direction, in the instrument's axes."""
    compared_with_scatter: bool = False
    """The statistic is the F ratio against the scatter found, not chi-square."""


class NoiseCheck(NamedTuple):
    verdict: str
    """`as_claimed`, `noisier`, `not_checked`."""
    statistic: float | None
    limit: float | None
    degrees_of_freedom: int | None


class Caveat(NamedTuple):
    """A warning: its code, the feature it speaks of, and the facts for its sentence."""

    code: str
    feature: str | None = None
    facts: tuple[tuple[str, str | int | float | None], ...] = ()


class OutlineElement(NamedTuple):
    """Something to draw, in machine axes, mm.

    kind `segment`: two points; `point`: one; `circle`: centre and unit normal, with `radius`.
    Names: `pivot_axis`, `face_left`, `face_right`, `steering_axis` (lower end first), `head`,
    `arm` (pivot first), `rear_axle`, `pair.<name>`, `control.<name>`, `axis.<name>`,
    `fork_left`, `fork_right`, `front_wheel`, `rear_wheel`.
    """

    name: str
    kind: str
    points: tuple[tuple[float, float, float], ...]
    radius: float | None = None


class Figure(NamedTuple):
    """A figure of the handling, mm, for information: no verdict rests on it."""

    name: str
    value: float
    standard_uncertainty: float


class Shared(NamedTuple):
    """Causes that another survey may share, and derivatives (k, causes) of the characteristics by
    each at unit variance: covariance = what is this survey's own + derivatives @ derivatives.T.

    Names: `instrument_offset`, `instrument_scale`, `temperature`, `expansion.<material>`,
    `face_squareness.<face>`, `target_spacing.<one>.<other>`.
    """

    causes: tuple[str, ...]
    derivatives: Floats


class Distribution(NamedTuple):
    """What the trials tell of one characteristic, in its unit.

    low, high: ends of the shortest interval that holds 95 % of the trials; digits: to how many
    significant digits of u all this stands still, None with too few trials to tell;
    first_order_validated: the ends by first order agree to within the tolerance with those of the
    interval beside which as many trials lie below as above.
    """

    key: str
    mean: float
    standard_uncertainty: float | None
    """None where it has none: Student's with two degrees of freedom or fewer."""
    low: float
    high: float
    digits: int | None
    first_order_low: float
    first_order_high: float
    tolerance: float
    first_order_validated: bool
    unsolved: int
    """Trials without a solution; they count as not within."""


class MonteCarlo(NamedTuple):
    """trials: how many were made; digits: asked for, stable: whether they were reached (None: not
    asked); needed: first order does not suffice, so that they were made unasked."""

    trials: int
    seed: int
    digits: int | None
    stable: bool | None
    needed: bool
    characteristics: tuple[Distribution, ...]


class Outline(NamedTuple):
    measured: tuple[OutlineElement, ...]
    reference: tuple[OutlineElement, ...]
    """Empty where the reference's nominals do not suffice."""
    levelled: bool


class Result(NamedTuple):
    engine_version: str
    levelling: str | None
    threshold: float
    finding: Finding
    rig_check: RigCheck
    noise_check: NoiseCheck
    orientation: str
    """`checked` or `not_checked`."""
    characteristics: tuple[Characteristic, ...]
    covariance_keys: tuple[str, ...]
    covariance: Floats
    """(k, k), in the products of the characteristics' units."""
    warnings: tuple[Caveat, ...]
    outline: Outline
    """What the drawings need: elements in mm, levelled where that was possible."""
    shared: Shared
    handling: tuple[Figure, ...] = ()
    fork_bend_mm: tuple[tuple[str, float], ...] = ()
    """By side: half the total indicator reading on V-blocks."""
    levelled_by: tuple[str, ...] = ()
    """Names of the control points that levelled it."""
    monte_carlo: MonteCarlo | None = None
