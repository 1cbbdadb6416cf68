"""What a fit raises when its points do not tell the feature."""


class Undetermined(ValueError):
    """The points do not tell the feature; the numbers are attributes."""


class TooFewPoints(Undetermined):
    def __init__(self, met: int, needed: int) -> None:
        super().__init__(f"{met} points where {needed} are needed")
        self.met, self.needed = met, needed


class PointsTooClose(Undetermined):
    """Coincident points for a line, points on one line for a circle."""

    def __init__(self, met_mm: float, needed_mm: float) -> None:
        super().__init__(f"points spread over {met_mm:.4g} mm where {needed_mm:.4g} mm are needed")
        self.met_mm, self.needed_mm = met_mm, needed_mm


class DoesNotSettle(Undetermined):
    def __init__(self, steps: int) -> None:
        super().__init__(f"the fit does not settle within {steps} steps")
        self.steps = steps
