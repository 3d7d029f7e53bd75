"""The controller of one option: zones, inputs of the right connector, linked units, outputs kept free."""

from __future__ import annotations

import math
from decimal import Decimal

from msgspec import Struct

from quoting.catalog.records import ControllerSpec
from quoting.engineering.brief import Brief, Result, settings_of
from quoting.engineering.line_inputs import (
    contact_worries,
    contacts,
    contacts_needed,
    head_end_shape,
    inputs_needed,
    line_inputs,
    misfits,
)
from quoting.engineering.zones import playing_zones
from quoting.facts import AudioSource, ControllerFact, Fact
from quoting.problems import Problem, stop, warning


class Units(Struct, frozen=True, kw_only=True):
    """So many linked units of one model."""

    spec: ControllerSpec
    count: int
    spares_missing: int  # outputs that the option means to keep free and these do not
    unpriced: bool
    cost: Decimal

    @property
    def rank(self) -> tuple[int, bool, Decimal, int, str]:
        """Spare outputs kept first, then cost."""
        return self.spares_missing, self.unpriced, self.cost, self.count, self.spec.part


def controllers(brief: Brief) -> Result:
    """The cheapest controller (or linked units of one model) with outputs and inputs enough; none in other shapes.

    The option's spare zones are kept free where some controller of it can: a wish, not a need.
    """
    if head_end_shape(brief) != "controller and amplifiers":
        return (), ()
    zones = len(playing_zones(brief))
    parts = brief.catalog.parts_for("controller", brief.option, brief.job.gauge_system)
    specs = [brief.catalog.controllers[part] for part in parts if part in brief.catalog.controllers]
    large_enough = [units for spec in specs if (units := _units(brief, spec, zones))]
    fitting = [units for units in large_enough if not misfits(brief, units.spec.part, units.spec.streams)]
    if not fitting:
        return (), tuple(_none_fits(brief, specs, large_enough, zones))
    best = min(fitting, key=lambda units: units.rank)
    facts = [_controller(brief, best, number, zones) for number in range(1, best.count + 1)]
    worries = contact_worries(brief, best.spec.part, best.count)
    worries += spare_worries(brief, best.spares_missing, best.spec.part)
    return tuple(facts), tuple(worries)


def _units(brief: Brief, spec: ControllerSpec, zones: int) -> Units | None:
    """The fewest units of a model that play the zones, with the spare outputs where links allow; None: too small."""
    spare = brief.number("spare_zones")
    most = max(1, spec.linkable)
    needed, wished = (math.ceil(max(1, count) / spec.zones) for count in (zones, zones + spare))
    count = min(wished, most)
    if needed > most:
        return None
    cost = unit_cost(brief, spec.part)
    return Units(spec=spec, count=count, spares_missing=max(0, zones + spare - count * spec.zones),
                 unpriced=cost is None, cost=(cost or Decimal(0)) * count)


def unit_cost(brief: Brief, part: str) -> Decimal | None:
    """The costing price of one; None where the job's currency has none."""
    prices = brief.catalog.prices.get((part, brief.job.terms.currency), ())
    return next((price.unit_cost for price in prices if price.costing), None)


def spare_worries(brief: Brief, missing: int, part: str) -> list[Problem]:
    """A warning where the option means to keep zone outputs free and nothing of it is large enough."""
    if not missing:
        return []
    wanted = brief.number("spare_zones")
    return [warning(brief.job.where("head_end_shape")[0], "too-few-spare-zones",
                    f"Option '{brief.option}' means to keep {wanted} zone outputs free and '{part}' leaves "
                    f"{wanted - missing}.",
                    "Name a larger controller in options.csv, or lower 'spare_zones' there and tell the customer what "
                    "a further zone costs.")]


def _none_fits(
    brief: Brief, specs: list[ControllerSpec], large_enough: list[Units], zones: int
) -> list[Problem]:
    where = brief.job.where("head_end_shape")[0]
    if not specs:
        return [stop(where, "no-part-for-role", f"Option '{brief.option}' has no 'controller'.",
                     "Name one in options.csv.")]
    if large_enough:  # the one whose inputs miss least tells what is missing
        return min((misfits(brief, units.spec.part, units.spec.streams) for units in large_enough), key=len)
    most = max(spec.zones * max(1, spec.linkable) for spec in specs)
    first_without = playing_zones(brief)[most]
    return [stop(first_without.where, "too-few-zone-outputs",
                 f"No output is left for zone {first_without.number} '{first_without.name}': option '{brief.option}' "
                 f"plays {zones} zones and no controller of it (linked units included) has more than {most} outputs.",
                 "Give several rooms one number under 'Zone', let fewer rooms play in this option ('Plays from'), type "
                 "'network amplifiers' under 'Head-end shape', or name a larger controller in options.csv.")]


def _controller(brief: Brief, units: Units, number: int, zones: int) -> Fact:
    spec = units.spec
    used = min(spec.zones, max(0, zones - (number - 1) * spec.zones))
    full = number == units.count and units.count * spec.zones <= zones
    inputs = line_inputs(brief, spec.part)
    return ControllerFact(
        id=f"CTL-{number}", basis=(*(f"Z{zone.number}" for zone in playing_zones(brief)),
                                   *(source.id for source in brief.of(AudioSource))),
        where=brief.job.where("head_end_shape"), decided=settings_of("controller", "spare_zones"), part=spec.part,
        shape="controller and amplifiers",
        outputs=spec.zones, used_outputs=used, spare_outputs=spec.zones - used, inputs=inputs,
        used_inputs=inputs_needed(brief) if number == 1 else 0, linked=number > 1, rack_units=spec.rack_units,
        depth_mm=spec.depth_mm, weight_kg=spec.weight_kg, idle_w=spec.idle_w, working_w=spec.working_w, plugs=1,
        keypad_ports=spec.keypad_ports, network_port=spec.network_port, rack_mountable=spec.rack_units > 0,
        contacts=contacts(brief, spec.part), used_contacts=contacts_used(brief, spec.part, number), full=full,
        upgrade=upgrade(brief, "controller", spec.part, units.count, zones) if full else "", streams=spec.streams)


def contacts_used(brief: Brief, part: str, number: int) -> int:
    """The contacts used of a unit: the first unit's are used first."""
    have = contacts(brief, part)
    return min(have, max(0, contacts_needed(brief) - have * (number - 1)))


def upgrade(brief: Brief, role: str, part: str, units: int, zones: int) -> str:
    """What one zone more would take: a further linked unit, else the cheapest model that holds it; "" for neither."""
    spec = brief.catalog.controllers.get(part)
    if spec is not None and units < spec.linkable:
        return part
    larger = []
    for other in brief.catalog.parts_for(role, brief.option, brief.job.gauge_system):
        other_spec = brief.catalog.controllers.get(other)
        if other_spec is not None and other_spec.zones * max(1, other_spec.linkable) > zones:
            cost = unit_cost(brief, other)
            larger.append((cost is None, (cost or 0) * math.ceil((zones + 1) / other_spec.zones), other))
    return min(larger)[2] if larger else ""
