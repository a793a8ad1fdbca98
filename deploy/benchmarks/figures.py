"""One figure of the benchmark: ours beside the floor, and the limits it has to keep."""

from __future__ import annotations

from dataclasses import asdict, dataclass
from statistics import median
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from collections.abc import Sequence


@dataclass(frozen=True, slots=True, kw_only=True)
class Figure:
    """`ours` and `floor` are medians of `runs` in `unit`; a limit that is None is not set.

    `most_ratio` is the highest ours / floor allowed, `most` the highest `ours` allowed.
    """

    name: str
    words: str
    ours: float
    floor: float
    unit: str
    runs: int
    bound_by: str
    most_ratio: float | None = None
    most: float | None = None
    notes: tuple[str, ...] = ()

    @property
    def ratio(self) -> float:
        """Ours by the floor."""
        return self.ours / self.floor

    @property
    def over(self) -> bool:
        """Whether a limit is passed."""
        too_much = self.most is not None and self.ours > self.most
        return too_much or (self.most_ratio is not None and self.ratio > self.most_ratio)

    def as_json(self) -> dict[str, Any]:  # Any: what JSON can hold
        """The figure with its ratio and its judgement."""
        return {**asdict(self), "ratio": round(self.ratio, 3), "over": self.over}

    def as_lines(self, *, judged: bool) -> str:
        """The figure for people; not judged where it was measured on a sliver of the work."""
        limits = [f"ratio {self.most_ratio:g}"] if self.most_ratio is not None else []
        limits += [f"ours {self.most:g} {self.unit}"] if self.most is not None else []
        verdict = "not judged" if not judged else "OVER" if self.over else "kept"
        times = "one run each" if self.runs == 1 else f"medians of {self.runs}"
        lines = [
            f"{self.name}: {self.words}",
            "   ".join(
                (
                    f"    ours {shown(self.ours, self.unit)}",
                    f"floor {shown(self.floor, self.unit)}",
                    f"ratio {self.ratio:.2f}",
                    f"limit {' and '.join(limits)}",
                    f"{verdict} ({times})",
                )
            ),
            f"    bounded by {self.bound_by}",
        ]
        return "\n".join([*lines, *(f"    {note}" for note in self.notes)])


def shown(number: float, unit: str) -> str:
    """A number with its unit; seconds below one as milliseconds."""
    if unit == "s":
        return f"{number:.2f} s" if number >= 1 else f"{number * 1000:.2f} ms"
    return f"{number:.0f} {unit}"


def spread(numbers: Sequence[float], unit: str) -> str:
    """Lowest, median and highest, for a note."""
    return " / ".join(shown(number, unit) for number in (min(numbers), median(numbers), max(numbers)))
