"""Zones onto amplifier channels in zone order, in each head-end shape: which models, which channels, what hinders."""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal

from msgspec import Struct
from msgspec.structs import replace

from quoting.catalog.records import AmplifierSpec
from quoting.engineering.amplifier_facts import ROLES, Seat, Seating, amplifier_facts
from quoting.engineering.amplifier_walk import Box, Claim, Model, Walk, cheapest_walk, walk_of_one
from quoting.engineering.brief import Brief, Result
from quoting.engineering.channel_offers import Offer, Refusal, offer
from quoting.engineering.constant_voltage import lines
from quoting.engineering.controllers import spare_worries, unit_cost
from quoting.engineering.line_inputs import contact_worries, head_end_shape, misfits
from quoting.engineering.trigger import wake
from quoting.engineering.zones import ZoneNeed, playing_zones, zone_needs
from quoting.job import HeadEndShape
from quoting.problems import Cell, Problem, stop, warning


class Market(Struct, frozen=True, kw_only=True):
    """What the option may use, and what each model can do for each zone."""

    shape: HeadEndShape
    needs: tuple[ZoneNeed, ...]
    specs: tuple[AmplifierSpec, ...]
    models: tuple[Model, ...]
    offers: tuple[tuple[Offer | Refusal, ...], ...]  # by model, then by zone
    claims: tuple[tuple[Claim | None, ...], ...]


def _rooms_cell(brief: Brief) -> Cell:
    """The first room's row: where "Plays from" is typed."""
    rooms = brief.job.rooms
    return rooms[0].where("plays_from")[0] if rooms else brief.job.where()[0]


def drive(brief: Brief) -> Result:
    """Every playing zone on its amplifier, low-impedance zones and lines, and the triggers that wake them."""
    made, problems = amplify(brief)
    more, worries = lines(replace(brief, seen=(*brief.seen, *made)))
    facts, doubts = wake(brief, (*made, *more))
    return facts, (*problems, *worries, *doubts)


def amplify(brief: Brief) -> Result:
    """Zone, output and amplifier facts of the low-impedance zones; controller facts where one box is both."""
    needs = zone_needs(brief)
    if not needs and playing_zones(brief):  # all of them on constant-voltage lines
        return (), ()
    if not needs:
        return (), (stop(_rooms_cell(brief), "no-live-zone", f"No room plays in option '{brief.option}'.",
                         f"Type '{brief.catalog.options[0]}' under 'Plays from' for at least one room."),)
    market = _market(brief, needs)
    if not market.specs:
        return (), (stop(brief.job.where("head_end_shape")[0], "no-part-for-role",
                         f"Option '{brief.option}' has no '{ROLES[market.shape]}'.", "Name one in options.csv."),)
    refused = _refusals(brief, market)
    if refused:
        return (), tuple(refused)
    walk = _one_model(brief, market) if market.shape == "controller-amplifier" else cheapest_walk(
        market.models, market.claims)
    if walk is None:
        return (), (_too_many_zones(brief, market),)
    seating = _seating(market, walk)
    return amplifier_facts(brief, seating), (*_worries(brief, seating), *_box_worries(brief, market, seating))


def _market(brief: Brief, needs: tuple[ZoneNeed, ...]) -> Market:
    shape = head_end_shape(brief)
    parts = brief.catalog.parts_for(ROLES[shape], brief.option, brief.job.gauge_system)
    specs = tuple(brief.catalog.amplifiers[part] for part in parts if part in brief.catalog.amplifiers)
    # A network amplifier serves one zone; an amplifier behind a controller as many as its channels.
    models = tuple(
        Model(spec.part, spec.channels, 1 if shape == "network amplifiers" else spec.zones, unit_cost(brief, spec.part))
        for spec in specs)
    offers = tuple(tuple(offer(spec, need, shape) for need in needs) for spec in specs)
    columns = tuple(_claims(column) for column in zip(*offers, strict=True))
    claims = tuple(zip(*columns, strict=True)) if columns else ()
    return Market(shape=shape, needs=needs, specs=specs, models=models, offers=offers, claims=claims)


def _claims(column: Sequence[Offer | Refusal]) -> tuple[Claim | None, ...]:
    """One zone's claims, by model. Where some model bridges the zone, those that do not bridge are no answer; where the
    power asked is out of every model's reach, the strongest is what counts as enough."""
    bridges = any(one == "bridged load" or (isinstance(one, Offer) and one.bridged) for one in column)
    usable = [one if isinstance(one, Offer) and one.bridged >= bridges else None for one in column]
    strongest = max((min(one.watts / one.asked_w, 1.0) for one in usable if one and one.asked_w), default=1.0)
    return tuple(
        None if one is None else Claim(one.channels, one.bridged, one.watts < one.asked_w * strongest - 1e-9)
        for one in usable)


def _one_model(brief: Brief, market: Market) -> Walk | None:
    """Controller-amplifiers: linked units are of one model, take every source, and leave the spare zones free."""
    found: list[tuple[tuple[bool, int, int, tuple[int, Decimal, int], str], Walk]] = []
    for index, spec in enumerate(market.specs):
        walk = walk_of_one(market.models, market.claims, index)
        control = brief.catalog.controllers.get(spec.part)
        if walk is None or control is None:
            continue
        if len(walk.boxes) > max(1, control.linkable):
            continue
        missing = _spares_missing(brief, len(walk.boxes), spec.zones, len(market.needs))
        heard = not misfits(brief, spec.part, control.streams)
        found.append(((not heard, walk.score[0], missing, walk.score[1:], spec.part), walk))
    return min(found, key=lambda one: one[0])[1] if found else None


def _spares_missing(brief: Brief, boxes: int, outputs: int, zones: int) -> int:
    """How many of the zone outputs that the option means to keep free are not."""
    return max(0, brief.number("spare_zones") - (boxes * outputs - zones))


def _seating(market: Market, walk: Walk) -> Seating:
    boxes = tuple(_box(market, box, number) for number, box in enumerate(walk.boxes, 1))
    return Seating(shape=market.shape, boxes=boxes)


def _box(market: Market, box: Box, number: int) -> tuple[Seat, ...]:
    spec = market.specs[box.model]
    seats = []
    for offset, channel in enumerate(box.channels):
        made = market.offers[box.model][box.first + offset]
        assert isinstance(made, Offer)  # the walk seats a zone only on a model that carries it
        seats.append(Seat(need=market.needs[box.first + offset], spec=spec, box=number, first_channel=channel,
                          offer=made))
    return tuple(seats)


def _refusals(brief: Brief, market: Market) -> list[Problem]:
    """A stop for each zone that no model of the option carries."""
    problems = []
    for index, need in enumerate(market.needs):
        if any(claims[index] for claims in market.claims):
            continue
        answers = [offers[index] for offers in market.offers]
        reasons: set[Refusal] = {one for one in answers if not isinstance(one, Offer)}
        problems.append(_refusal(brief, market, need, reasons))
    return problems


def _refusal(brief: Brief, market: Market, need: ZoneNeed, reasons: set[Refusal]) -> Problem:
    zone, role = need.zone, ROLES[market.shape]
    named = f"zone {zone.number} '{zone.name}'"
    if "bridged load" in reasons:
        least = min(spec.bridge_minimum_ohm for spec in market.specs if spec.bridge_minimum_ohm)
        return stop(
            zone.where, "bridged-load-below-minimum",
            f"No '{role}' of option '{brief.option}' bridges into {named}: a loudspeaker of {min(need.coil_ohm):g} ohm "
            f"is below the {least:g} ohm that its bridged outputs take.",
            "Type no under 'Bridged' for the zone on Zones, name loudspeakers of a higher impedance, or name an "
            "amplifier with a lower bridged minimum in options.csv.")
    if "channels" in reasons:
        most = max(spec.channels for spec in market.specs)
        return stop(
            zone.where, "too-few-channels",
            f"No '{role}' of option '{brief.option}' carries {named}: its {need.pairs} pairs"
            f"{', two channels bridged for each side,' if zone.bridged else ''} need more than the "
            f"{most} channels of the largest, and a zone is never split over two amplifiers.",
            _smaller(brief, need) + (", or no under 'Bridged' on Zones." if zone.bridged else "."))
    return stop(
        zone.where, "load-below-minimum",
        f"No '{role}' of option '{brief.option}' carries {named}: its {need.pairs} pairs make "
        f"{need.load_ohm(1, False):.2f} ohm and the lowest that it takes is "
        f"{min(spec.minimum_ohm for spec in market.specs):g} ohm.",
        f"{_smaller(brief, need)}, type 'controller and amplifiers' under 'Head-end shape', or name an amplifier with "
        "a lower minimum load in options.csv.")


def _smaller(brief: Brief, need: ZoneNeed) -> str:
    """What to type so that a zone asks less."""
    split = ", give some of its rooms a 'Zone' number of their own" if need.rooms > 1 else ""
    return f"Type fewer under 'Pairs {brief.option}'{split}"


def _too_many_zones(brief: Brief, market: Market) -> Problem:
    controls = brief.catalog.controllers
    most = max((spec.zones * max(1, controls[spec.part].linkable) for spec in market.specs if spec.part in controls),
               default=0)
    return stop(
        market.needs[most].zone.where if most < len(market.needs) else brief.job.where("head_end_shape")[0],
        "too-few-zone-outputs",
        f"Option '{brief.option}' plays {len(market.needs)} zones and no '{ROLES[market.shape]}' of it (linked units "
        f"of one model included) carries them all: the largest has {most} outputs.",
        "Type 'controller and amplifiers' under 'Head-end shape', let fewer rooms play in this option, or name a "
        "larger one in options.csv.")


def _worries(brief: Brief, seating: Seating) -> list[Problem]:
    worries = []
    for seat in seating.seats:
        zone, asked, given = seat.need.zone, seat.offer.asked_w, seat.offer.watts
        if given < asked:
            worries.append(warning(
                zone.where, "amplifier-short-of-power",
                f"Zone {zone.number} '{zone.name}' asks {asked:.0f} W of an output and '{seat.spec.part}' of option "
                f"'{brief.option}' gives {given:.0f} W.", "Lower the listening level, add pairs, or bridge the zone."))
        if zone.bridged and not seat.offer.bridged:
            worries.append(warning(
                zone.where, "no-bridge",
                f"Zone {zone.number} '{zone.name}' asks for bridged channels and '{seat.spec.part}' of option "
                f"'{brief.option}' does not bridge here.", "Accept single channels in this option."))
    return worries


def _box_worries(brief: Brief, market: Market, seating: Seating) -> list[Problem]:
    """Inputs, contacts and spare outputs where the amplifiers are also what the sources plug into."""
    part = seating.boxes[0][0].spec.part
    if market.shape == "network amplifiers":
        # Each shares its inputs with the others over the network.
        return misfits(brief, part, 1, len(seating.boxes))
    if market.shape == "controller and amplifiers":
        return []
    missing = _spares_missing(brief, len(seating.boxes), seating.boxes[0][0].spec.zones, len(seating.seats))
    return [*misfits(brief, part, brief.catalog.controllers[part].streams),
            *contact_worries(brief, part, len(seating.boxes)), *spare_worries(brief, missing, part)]
