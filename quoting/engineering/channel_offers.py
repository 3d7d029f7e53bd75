"""What one amplifier model can offer one zone: channels, load, power; or why it cannot carry it."""

from __future__ import annotations

from typing import Literal

from msgspec import Struct

from quoting.catalog.records import AmplifierSpec
from quoting.engineering.zones import ZoneNeed
from quoting.job import HeadEndShape

Refusal = Literal["load", "bridged load", "channels"]
FULL_OHM, HALF_OHM = 8.0, 4.0  # the two loads that a data sheet states powers for


class Offer(Struct, frozen=True, kw_only=True):
    """One model's way to drive one zone."""

    groups: int  # channel pairs (mono: channels) that the zone's pairs are dealt over
    bridged: bool
    channels: int
    loads_ohm: tuple[float, ...]  # that one channel of each group sees
    asked_each_w: tuple[float, ...]  # of an output of each group
    watts_each: tuple[float, ...]  # that it gives at its own load, all channels driven

    @property
    def load_ohm(self) -> float:
        """The lowest that one channel sees. [ohm]"""
        return min(self.loads_ohm)

    @property
    def asked_w(self) -> float:
        """What the output that works hardest is asked for. [W]"""
        return self.asked_each_w[self._hardest]

    @property
    def watts(self) -> float:
        """What that output gives with all channels driven. [W]"""
        return self.watts_each[self._hardest]

    @property
    def _hardest(self) -> int:
        """The group that is asked for the largest share of what it gives."""
        return max(range(self.groups), key=lambda group: self.asked_each_w[group] / max(self.watts_each[group], 1e-9))


def offer(spec: AmplifierSpec, need: ZoneNeed, shape: HeadEndShape) -> Offer | Refusal:
    """The fewest channels on which no channel sees less than its minimum; else what is in the way.

    Only an amplifier behind a controller bridges and takes a zone on several channel pairs: a zone output of a
    controller-amplifier or a network amplifier is one pair.
    """
    apart = shape == "controller and amplifiers"
    bridged = need.zone.bridged and spec.bridge_minimum_ohm > 0 and apart
    # A bridge's minimum is that of the loudspeaker across it; each of its channels sees half.
    groups = need.splits(spec.bridge_minimum_ohm / 2 if bridged else spec.minimum_ohm, bridged)
    if not groups or (groups > 1 and not apart):
        return "bridged load" if bridged else "load"
    channels = groups * (1 if need.zone.mono else 2) * (2 if bridged else 1)
    if channels > spec.channels:
        return "channels"
    loads = need.loads_ohm(groups, bridged)
    return Offer(groups=groups, bridged=bridged, channels=channels, loads_ohm=tuple(round(load, 3) for load in loads),
                 asked_each_w=tuple(round(asked, 2) for asked in need.asked_each_w(groups)),
                 watts_each=tuple(output_w(spec, load, bridged) for load in loads))


def output_w(spec: AmplifierSpec, load_ohm: float, bridged: bool) -> float:
    """What one output gives with all channels driven, each channel seeing the load. [W]

    Between 8 and 4 ohm by straight line between the stated powers; above 8 ohm in inverse proportion (V^2 / R); below
    4 ohm no more than at 4 ohm. Bridged, the loudspeaker is twice what a channel sees: the stated power up to 8 ohm of
    loudspeaker, in inverse proportion above.
    """
    if bridged:
        return spec.bridge_w_8ohm * min(1.0, FULL_OHM / (2 * load_ohm)) * spec.all_driven_rate
    if load_ohm >= FULL_OHM:
        return spec.w_8ohm * FULL_OHM / load_ohm * spec.all_driven_rate
    share = min(1.0, (FULL_OHM - load_ohm) / (FULL_OHM - HALF_OHM))
    return (spec.w_8ohm + (spec.w_4ohm - spec.w_8ohm) * share) * spec.all_driven_rate
