"""What each source contributes to each characteristic, and so their covariance.

Every input is scaled to unit variance and none is correlated with another, so that the covariance
of the characteristics is G G' with G (k, inputs) their derivatives. A source is a run of columns:
the points of one feature, the squareness of the faces, or one common cause (one column that moves
all points together: fully correlated).
"""

from dataclasses import dataclass

import numpy as np

from app.chassis.result import Share
from app.chassis.survey import Floats
from app.metrology.degrees_of_freedom import welch_satterthwaite

POINT_SOURCES = frozenset({"pivot", "pivot_face", "steer_target", "head_bore", "head_face"})


@dataclass(frozen=True, slots=True)
class Contributions:
    """sources: names in order; parts: (k, sources) variances; derivatives: (k, inputs)."""

    sources: tuple[str, ...]
    parts: Floats
    derivatives: Floats

    @property
    def covariance(self) -> Floats:
        """(k, k)."""
        product: Floats = self.derivatives @ self.derivatives.T
        return product

    def budget(self, row: int) -> tuple[Share, ...]:
        """Shares of the variance that come from each source, largest first."""
        parts = self.parts[row].tolist()
        total = sum(parts)
        if total == 0.0:
            return ()
        shares = [
            Share(source, part / total)
            for source, part in zip(self.sources, parts, strict=True)
            if part > 0.0
        ]
        shares.sort(key=lambda share: -share.share)
        return tuple(shares)


def contributions(runs: list[tuple[str, Floats]]) -> Contributions:
    """runs: name of the source and its columns (k, m); a name met again joins the first."""
    sources = tuple(dict.fromkeys(name for name, _ in runs))
    parts = np.zeros((runs[0][1].shape[0], len(sources)))
    for name, columns in runs:
        parts[:, sources.index(name)] += np.einsum("ij,ij->i", columns, columns)
    return Contributions(sources, parts, np.concatenate([columns for _, columns in runs], axis=1))


def effective_degrees_of_freedom(
    total: Floats, groups: list[tuple[Floats, float]]
) -> list[float | None]:
    """Welch and Satterthwaite's, for each characteristic; None: infinite.

    total: (k,) variances; groups: variances (k,) of what shares one estimated scale, with the
    degrees of freedom of that scale. The rest is taken as known.
    """
    freedoms: list[float | None] = []
    for row, variance in enumerate(total.tolist()):
        known = [(math_root(part[row]), freedom) for part, freedom in groups]
        rest = max(0.0, variance - sum(float(part[row]) for part, _ in groups))
        effective = welch_satterthwaite(
            [u for u, _ in known] + [math_root(rest)], [f for _, f in known] + [np.inf]
        )
        freedoms.append(None if np.isinf(effective) else effective)
    return freedoms


def math_root(variance: float) -> float:
    return float(np.sqrt(max(0.0, variance)))
