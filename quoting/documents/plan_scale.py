"""The scale that a plan is drawn to: one of those on a scale rule, the largest that fits the paper."""

from __future__ import annotations

from msgspec import Struct

from quoting.units import UnitSystem


class PlanScale(Struct, frozen=True):
    """A scale and its name on a drawing."""

    ratio: int  # 50 is 1:50
    name: str

    @property
    def mm_per_m(self) -> float:
        """Millimetres on the paper for one metre of the house."""
        return 1000 / self.ratio


# Scales of the usual metric and inch scale rules (from memory).
_SCALES: dict[UnitSystem, tuple[PlanScale, ...]] = {
    "metric": tuple(PlanScale(ratio, f"1:{ratio}") for ratio in (20, 25, 50, 75, 100, 125, 200, 250, 500, 1000)),
    "imperial": tuple(PlanScale(ratio, f"{inches} in = 1 ft (1:{ratio})") for inches, ratio in (
        ("1/2", 24), ("3/8", 32), ("1/4", 48), ("3/16", 64), ("1/8", 96), ("3/32", 128), ("1/16", 192),
        ("1/32", 384), ("1/64", 768))),
}


def fitting_scale(length_m: float, width_m: float, most_x_mm: float, most_y_mm: float, system: UnitSystem) -> PlanScale:
    """The largest scale at which so many metres fit so many millimetres; the smallest where none does."""
    return next((scale for scale in _SCALES[system] if length_m * scale.mm_per_m <= most_x_mm
                 and width_m * scale.mm_per_m <= most_y_mm), _SCALES[system][-1])


def plan_scale(most_mm_per_m: float, system: UnitSystem) -> PlanScale:
    """The largest scale of a scale rule at which a metre takes no more of the paper than this; else the smallest."""
    return next((scale for scale in _SCALES[system] if scale.mm_per_m <= most_mm_per_m), _SCALES[system][-1])
