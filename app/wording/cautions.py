"""What must be seen wherever a finding stands: geometry is not soundness."""

from app.wording.translation import _, later

CAUTIONS: tuple[str, ...] = (
    later("Findings speak of geometry only; good geometry is not proof of a sound frame."),
    later(
        "Cracks, wrinkled or stretched metal, heat marks and damaged welds mean replacement, "
        "not straightening."
    ),
    later(
        "Follow the maker's instruction on repair or replacement: many makers forbid "
        "straightening aluminium frames, forks and wheels."
    ),
    later("Use no heat on heat-treated or aluminium parts."),
    later("Keep clear of chains and rams under load."),
    later("Support the machine safely; isolate battery and fuel before work."),
    later("Whether the machine may go on the road is for the licensed inspection of the place."),
    later("Local law and the maker's manual go first."),
)

AT_CORRECTION: tuple[int, ...] = (1, 2, 3, 4, 5)
"""Those that a technician must see before pulling anything."""

AT_MEASURING: tuple[int, ...] = (5,)

IN_ONE_LINE = later(
    "Geometry only: this says nothing of cracks, stretched metal, heat marks or welds. The "
    "maker's manual and local law go first."
)

ON_DAMAGE = later(
    "Cracks, wrinkles, heat marks and damaged welds mean replacement, not straightening; the "
    "maker's instruction goes first."
)


def everywhere() -> list[str]:
    """Return all cautions, for the finding and the certificate."""
    return [_(text) for text in CAUTIONS]


def before_correction() -> list[str]:
    return [_(CAUTIONS[place]) for place in AT_CORRECTION]


def before_measuring() -> list[str]:
    return [_(CAUTIONS[place]) for place in AT_MEASURING]


def one_line() -> str:
    return _(IN_ONE_LINE)


def on_damage() -> str:
    """Return what such damage means, for the first page of a certificate that tells of it."""
    return _(ON_DAMAGE)
