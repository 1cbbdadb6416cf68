"""One line of the benchmarks: what was measured, and whether it meets its target."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Ratio:
    what: str
    ours_s: float
    theirs_s: float
    target: float
    at_least: bool
    """True: theirs over ours must reach the target; False: ours over theirs must stay under it."""
    same_answer: bool = True

    @property
    def value(self) -> float:
        return self.theirs_s / self.ours_s if self.at_least else self.ours_s / self.theirs_s

    @property
    def met(self) -> bool:
        fast = self.value >= self.target if self.at_least else self.value <= self.target
        return fast and self.same_answer


@dataclass(frozen=True, slots=True)
class Bound:
    """One figure that must not be larger than another."""

    what: str
    value: float
    most: float
    unit: str

    @property
    def met(self) -> bool:
        return self.value <= self.most


@dataclass(frozen=True, slots=True)
class Memory:
    """Peak of a process, and by how many bytes each trial and characteristic makes it grow."""

    what: str
    peak_mb: float
    most_mb: float
    bytes_each: float
    most_bytes: float

    @property
    def met(self) -> bool:
        return self.peak_mb < self.most_mb and self.bytes_each <= self.most_bytes
