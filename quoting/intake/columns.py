"""What may be typed on every sheet of the intake workbook: the one definition that the form and the reader share."""

from __future__ import annotations

from collections.abc import Iterable
from decimal import Decimal
from typing import Literal, get_args

from msgspec import Struct
from msgspec.structs import replace

from quoting import job as j
from quoting.catalog.records import Catalog

Kind = Literal[
    "name", "note", "code", "zone", "choice", "choices", "yes/no", "whole", "number", "money", "rate", "date", "hours",
    "floor", "length", "short length", "amount",
]
ListName = Literal["room kinds", "options", "plays", "places", "currencies", "counting standards", "priorities", ""]


class Column(Struct, frozen=True):
    """One column (on Job: one line). `attribute` is the record's field; `heading` and `help` are the trade's words.

    Blank is allowed unless `required`; what blank means is in `help`. Limits of lengths are metres.
    """

    attribute: str
    heading: str
    kind: Kind
    help: str
    example: str = ""
    required: bool = False
    rare: bool = False  # grouped to the right, folded away
    choices: tuple[str, ...] = ()
    listed: ListName = ""  # choices that the catalogue gives
    least: float | None = None
    most: float | None = None
    width: int = 12
    also: tuple[str, ...] = ()  # other headings that mean this column


class SheetForm(Struct, frozen=True):
    """One sheet (or block of a sheet): what it is for, and its columns. `row_word` is what a row describes."""

    name: str
    purpose: str
    row_word: str
    columns: tuple[Column, ...]

    def column(self, attribute: str) -> Column:
        """The column of an attribute; KeyError for none."""
        for column in self.columns:
            if column.attribute == attribute:
                return column
        raise KeyError(attribute)


class IntakeForm(Struct, frozen=True):
    """All sheets, with the catalogue's choices filled in. `floors` is a block below the lines of the Job sheet."""

    job: SheetForm
    floors: SheetForm
    rooms: SheetForm
    zones: SheetForm
    sources: SheetForm
    extras: SheetForm
    overrides: SheetForm

    @property
    def sheets(self) -> tuple[SheetForm, ...]:
        """The forms that are sheets of their own, in the order of the workbook."""
        return (self.job, self.rooms, self.zones, self.sources, self.extras, self.overrides)


PAIRS_PREFIX = "pairs:"  # + an option's name: the attribute of its count column

JOB = (
    Column("client", "Client", "name", "Who signs.", "Ada and Noor Brandt", required=True, also=("Client name",)),
    Column("site", "Site address", "note", "Where the house stands.", "12 Lindenhof Lane, Sampleton", required=True,
           also=("Site", "Address", "Place")),
    Column("wall_state", "Wall state", "choice", "The house as a whole; floors and rooms may differ.", "open",
           required=True, choices=get_args(j.WallState)),
    Column("head_end", "Head-end place", "name", "Where all runs end: the rack's room or closet.", "basement closet",
           required=True, also=("Head end",)),
    Column("start_date", "Start date", "date", "First day on site. Blank: not known yet; the work is then counted in "
           "working days from it.", "2027-01-19"),
    Column("payer", "Who pays", "choice", "Decides tax and payment terms.", "owner", required=True,
           choices=get_args(j.Payer)),
    Column("tax_place", "Tax place", "choice", "Whose taxes and contract terms apply. Blank: the catalogue's first, "
           "or the first with the job's currency.", listed="places"),
    Column("currency", "Currency", "choice", "Blank: the tax place's.", "USD", listed="currencies"),
    Column("unit_system", "Unit system", "choice", "What a bare number means: feet or metres. Blank: feet where the "
           "currency is USD, else metres.", "imperial", choices=("imperial", "metric")),
    Column("locale", "Language and format", "name",
           "Language_COUNTRY of the customer's papers. Blank: the tax place's.",
           "en_US", also=("Locale",)),
    Column("storeys", "Storeys", "whole", "Floors above ground. Blank: as many as the rooms stand on.", "2", least=1,
           most=9),
    Column("occupied", "Occupied", "yes/no", "Do people live there during the work? Blank: no with open walls, else "
           "yes.", "no"),
    Column("year_built", "Year built", "whole", "Old paint and old ceilings. Blank: not said.", "1994", least=1500,
           most=2100),
    Column("dwelling_years", "Dwelling age in years", "whole", "Some taxes ask. Blank: start date less year built, "
           "else new.", "12", least=0, most=600, also=("Dwelling age",)),
    Column("travel_hours", "Travel time one way", "hours", "Hours from the shop, or 45 min. Blank: half an hour.",
           "0.5", least=0, most=24),
    Column("doorbells", "Doorbells", "whole", "How many doors ring through the speakers. Blank: none.", "1", least=0,
           most=20),
    Column("paging", "Paging", "yes/no", "Spoken calls through the speakers. Blank: no.", "no"),
    Column("internet_live", "Internet live date", "date", "From when the router works. Blank: not said.", "2026-06-01"),
    Column("router_owner", "Router owner", "name", "Who may change the network's settings. Blank: the client.",
           "family"),
    Column("budget", "Budget", "money", "In the job's currency, tax included. Blank: none said.", "16000", least=0),
    Column("budget_said_by", "Budget said by", "name", "Who said it, and when.", "Noor, first visit"),
    Column("priorities", "Priorities", "choices", "From the interview, most wanted first, with commas.",
           listed="priorities"),
    Column("head_end_floor", "Head-end floor", "floor", "Blank: the floor of the room so named, else the lowest.", "-1",
           least=-3, most=9),
    Column("head_end_x_m", "Head-end plan x", "length", "From the plan's left edge, as the rooms' plan positions.",
           "12 ft", least=-300, most=300),
    Column("head_end_y_m", "Head-end plan y", "length", "From the plan's lower edge.", "30 ft", least=-300, most=300),
    Column("counting_standard", "Counting standard", "choice", "How speakers are counted. Blank: the firm's.",
           listed="counting standards"),
    Column("topology", "Cable topology", "choice", "Speaker cable by way of the keypad place, or straight. Blank: "
           "through the keypad place.", "direct", choices=get_args(j.Topology)),
    Column("head_end_shape", "Head-end shape", "choice", "Blank: each option's own.", "network amplifiers",
           choices=get_args(j.HeadEndShape)),
    Column("streams", "Streams", "whole", "How many different things may play at once. Blank: each option's own.", "3",
           least=1, most=32),
    Column("phones", "Phones and tablets", "whole", "To be set up. Blank: each option's own.", "4", least=0, most=50),
    Column("detail", "Detail for the customer", "choice", "How finely the proposal shows prices. Blank: by room.",
           "by room", choices=get_args(j.Detail)),
    Column("whole_units", "Round the total", "yes/no", "To whole currency units, on a line of its own. Blank: no.",
           "no"),
    Column("tax_exempt", "Tax exemption number", "name", "The certificate. Blank: none."),
    Column("discount_rate", "Discount", "rate", "Of materials and labour: 5 % or 0.05. Blank: none.", "5 %", most=0.9),
    Column("discount_reason", "Discount reason", "name", "Every discount has one.", "builder's open house"),
    Column("approved_by", "Approved by", "name", "Who allowed a discount below the owner's floor."),
    Column("quote_number", "Quote number", "name", "Blank: the workbook's own name.", "Q-1042"),
    Column("revision", "Revision", "whole", "0 is the first issue. Blank: 0.", "1", least=0, most=999),
    Column("supersedes", "Supersedes", "name", "The quote that this one replaces.", "Q-1042 revision 0"),
    Column("quote_date", "Quote date", "date", "Prices of this day are used. Blank: the day it is made.", "2026-09-07"),
    Column("dwelling", "Dwelling", "choice", "Several families in a building: cable between floors is riser cable. "
           "Blank: house.", "house", choices=get_args(j.Dwelling)),
    Column("trim_date", "Fitting date", "date", "From when walls and ceilings are painted and loudspeakers can go in. "
           "Blank: counted from the cabling.", "2027-03-29"),
    Column("head_end_beside", "Head-end beside", "name", "A closet's neighbour: the name or code of the room that it "
           "is planned beside. Blank: not said, or the head end is itself a room of Rooms.", "Family room"),
    Column("head_end_side", "Head-end side", "choice", "On which side of that room, as the plan has north up. Blank: "
           "not said.", "east", choices=get_args(j.Compass)),
    Column("head_end_length_m", "Head-end length", "length", "Of a closet, west to east. Blank: not said.", "6 ft",
           least=0.5, most=30),
    Column("head_end_width_m", "Head-end width", "length", "Of a closet, south to north. Blank: not said.", "5 ft",
           least=0.5, most=30),
)

FLOORS = (
    Column("number", "Floor", "floor", "As the drawings number it; -1 is the basement.", "1", required=True, least=-3,
           most=9),
    Column("ceiling_height_m", "Ceiling height", "length", "Of most rooms there. Blank: 9 ft or 2.5 m.", "9 ft",
           least=1.8, most=15),
    Column("wall_state", "Wall state", "choice", "Blank: the job's.", "finished", choices=get_args(j.WallState)),
    Column("above", "Above the ceiling", "choice", "Blank: a room, or an insulated attic on the top floor.",
           "insulated attic", choices=get_args(j.Above)),
    Column("construction", "Construction", "choice", "Blank: wood frame, or masonry in a metric job.", "wood frame",
           choices=get_args(j.Construction)),
)

ROOMS = (
    Column("name", "Name", "name", "As the family says it. One name, one room.", "Kitchen", required=True, width=22,
           also=("Room", "Room name")),
    Column("kind", "Kind", "choice", "Fills in what you leave blank.", "kitchen", required=True, listed="room kinds",
           width=14, also=("Room kind",)),
    Column("floor", "Floor", "floor", "As the drawings number it; -1 is the basement.", "1", required=True, least=-3,
           most=9, width=7),
    Column("length_m", "Length", "length", "The longer way. An L is two rooms of one zone.", "18'6\"",
           required=True, width=10),
    Column("width_m", "Width", "length", "The shorter way.", "14 ft", required=True, width=10),
    Column("zone", "Zone", "zone", "Rooms with one number share a source and a volume. Blank: a zone of its own.", "2",
           least=1, most=99, width=8),
    Column("mount", "Mount", "choice", "Where the speakers sit. Blank: by kind.", "ceiling",
           choices=get_args(j.Mount), width=10),
    Column("plays_from", "Plays from", "choice",
           "The first option in which music plays here; later: wired only; never: "
           "nothing. Blank: by kind.", "better", listed="plays", width=11),
    Column("pairs", "Pairs", "whole", "Speaker pairs, whatever the standard says. Blank: counted.", "2", least=0,
           most=20, width=7),
    Column("listening", "Listening", "choice", "How loud it gets. Blank: by kind.", "foreground",
           choices=get_args(j.Listening), width=13),
    Column("control", "Control", "choice", "On the wall, or by phone only. Blank: by kind.", "keypad",
           choices=get_args(j.Control), width=10),
    Column("note", "Note", "note", "For the office; never shown to the customer.", width=24),
    Column("code", "Code", "code", "At most 4 letters and digits, a letter first. Blank: made from the name.", "KIT",
           rare=True, width=7),
    Column("ceiling_height_m", "Ceiling height", "length", "The low side of a slope, an eave's height outdoors. Blank: "
           "the floor's.", "9 ft", rare=True, least=1.8, most=15),
    Column("ceiling_high_m", "Ceiling high side", "length", "The high side of a slope. Blank: flat.", "16 ft",
           rare=True,
           least=1.8, most=20),
    Column("wall_state", "Wall state", "choice", "Blank: the floor's.", "finished", rare=True,
           choices=get_args(j.WallState)),
    Column("setting", "Setting", "choice", "How wet it gets. Blank: by kind.", "damp", rare=True,
           choices=get_args(j.Setting)),
    Column("above", "Above the ceiling", "choice", "Blank: the floor's.", "quiet room", rare=True,
           choices=get_args(j.Above), width=15),
    Column("construction", "Construction", "choice", "Blank: the floor's.", "masonry", rare=True,
           choices=get_args(j.Construction), width=15),
    Column("access", "Access", "choice", "From where the ceiling can be reached. Blank: above under an attic, "
           "else none.", "above", rare=True, choices=get_args(j.Access)),
    Column("joists", "Joist direction", "choice", "Along or across the room's length. Blank: not said.", "along",
           rare=True, choices=get_args(j.Joists)),
    Column("joist_spacing_m", "Joist spacing", "short length", "Middle to middle. Blank: not said.", "16 in", rare=True,
           least=0.1, most=2),
    Column("obstacles", "Obstacles", "note", "Lights, ducts, fans on the ceiling, with plan positions if known.",
           "fan at 6,7", rare=True, width=20),
    Column("sub_zone", "Sub-zone", "yes/no", "Plays what its zone plays, at a volume of its own. Blank: no.", "yes",
           rare=True),
    Column("second_control", "Second keypad", "yes/no", "At another door. Blank: no.", "yes", rare=True),
    Column("room_input", "Room input", "yes/no", "A socket for a player in the room. Blank: no.", "yes", rare=True),
    Column("tv", "TV into the system", "yes/no", "The television's sound through these speakers. Blank: no.", "yes",
           rare=True, also=("TV",)),
    Column("reuse_cable", "Existing cable", "yes/no", "Cable that stays and is used again. Blank: no.", "no",
           rare=True),
    Column("reuse_speakers", "Existing speakers", "yes/no", "Speakers that stay. Blank: no.", "no", rare=True),
    Column("reuse_control", "Existing controls", "yes/no", "Wall controls that stay. Blank: no.", "no", rare=True),
    Column("colour", "Colour", "name", "Of grilles and plates. Blank: white.", "white", rare=True, also=("Color",)),
    Column("x_m", "Plan x", "length", "The room's middle from the plan's left edge.", "22 ft", rare=True, least=-300,
           most=300),
    Column("y_m", "Plan y", "length", "The room's middle from the plan's lower edge.", "14 ft", rare=True, least=-300,
           most=300),
    Column("measured_m", "Measured run", "length", "Route from the head end to the room's control, with control by "
           "phone to its first loudspeaker; rises and drops included.", "65 ft", rare=True, least=0.5, most=300),
    Column("distance", "Distance", "choice", "Stands in where nothing is measured. Blank: by kind.", "middle",
           rare=True,
           choices=get_args(j.Distance)),
    Column("near_water", "Near pool or shower", "yes/no", "Within reach of a pool, a spa or a shower. Blank: no.", "no",
           rare=True),
    Column("moves_air", "Bay moves air", "yes/no", "Cables lie in a bay or ceiling space that heating or cooling air "
           "moves through. Blank: no.", "no", rare=True),
    Column("beside", "Beside room", "name", "Outdoors only: the room indoors whose outside wall its cables come out "
           "of. Blank: the nearest, where plan positions say which.", "Kitchen", rare=True, width=14),
    Column("low_wall", "Low wall", "choice", "Of a slope: the wall under its low side, as the plan has north up. "
           "Blank: not said.", "south", rare=True, choices=get_args(j.Compass)),
)

ZONES = (
    Column("number", "Zone", "whole", "The number typed on Rooms. Where most are listed, all must be.", "1",
           required=True, least=1, most=99,
           also=("Zone number", "Number")),
    Column("name", "Name", "name", "As the family says it. Blank: its rooms' names.", "Downstairs", width=24,
           also=("Zone name",)),
    Column("plays_from", "Plays from", "choice", "For its rooms that leave it blank.", "good", listed="plays"),
    Column("listening", "Listening", "choice", "For its rooms that leave it blank.", "party",
           choices=get_args(j.Listening)),
    Column("control", "Control", "choice", "For its rooms that leave it blank.", "keypad", choices=get_args(j.Control)),
    Column("mono", "Mono", "yes/no", "Left and right added together. Blank: no.", "no"),
    Column("bridged", "Bridged", "yes/no", "Two amplifier channels for each output. Blank: no.", "no", rare=True),
    Column("paged", "Hears paging", "yes/no", "And doorbells. Blank: yes.", "no", rare=True),
    Column("line", "Line", "choice", "How its speakers are fed: low impedance, or a constant-voltage line with taps. "
           "Blank: low impedance.", "70.7 V", rare=True, choices=get_args(j.SpeakerLine), width=15),
    Column("max_volume", "Loudest volume", "whole", "Percent, a limit that the family asked for. Blank: none.", "70",
           rare=True, least=1, most=100),
)

SOURCES = (
    Column("kind", "Kind", "choice", "What plays.", "streamer", required=True, choices=get_args(j.SourceKind),
           width=13),
    Column("name", "Name", "name", "Blank: the kind.", "Record player", width=24),
    Column("count", "How many", "whole", "Blank: 1.", "1", least=1, most=20),
    Column("owned", "Owned", "yes/no", "The client has it already. Blank: no.", "yes"),
    Column("location", "Location", "name", "A room's name or code. Blank: the head end.", "Family room", width=18),
    Column("connector", "Connector", "choice", "What its sound comes out of. Blank: by kind.", "optical",
           choices=get_args(j.Connector)),
    Column("control", "Control", "choice", "How it is told to play. Blank: by kind.", "network", rare=True,
           choices=get_args(j.SourceControl)),
    Column("plays_from", "Plays from", "choice", "The first option that has it. Blank: the smallest.", "better",
           rare=True, listed="options"),
)

EXTRAS = (
    Column("kind", "Kind", "choice", "What is asked for.", "trench", required=True, choices=get_args(j.ExtraKind),
           width=17),
    Column("name", "Name", "name", "In your own words. Blank: the kind.", "Cassette deck", width=24),
    Column("room", "Room", "name", "A room's name or code. Blank: the head end.", "Patio", width=18),
    Column("quantity", "Quantity", "amount", "Pieces, doors, microphones or spare cables; a length for conduit and "
           "trench. Blank: 1, but a length is needed.", "40 ft"),
    Column("part", "Part", "name", "A part number of the catalogue, for kind part.", width=18),
    Column("amount", "Amount", "money", "The sum allowed, for kind allowance.", "250", least=0),
    Column("rack_mountable", "Fits a rack", "yes/no", "Owned equipment with rack ears. Blank: no.", "no", rare=True),
    Column("plays_from", "Plays from", "choice", "The first option that has it. Blank: the smallest.", "good",
           rare=True,
           listed="options"),
    Column("note", "Note", "note", "For the office.", rare=True, width=26),
)

OVERRIDES = (
    Column("id", "Line or fact", "name", "The id that the office workbook shows: part/room/phase, or a fact's.",
           "103211", required=True, width=34, also=("Id", "Line")),
    Column("what", "What", "choice", "What to replace; drop takes it out.", "length", required=True,
           choices=get_args(j.OverrideWhat)),
    Column("value", "New value", "name", "Blank for drop. A position is from the west wall, then from the south: 6, 7.",
           "82 ft", width=16, also=("Value",)),
    Column("reason", "Reason", "name", "Shown beside the rule's own value.", "measured on site", required=True,
           width=34),
    Column("who", "Who", "name", "Who decided it.", "R. Estimator", required=True, width=18),
)


def intake_form(catalog: Catalog) -> IntakeForm:
    """Every sheet's columns with the catalogue's choices, and a count column on Rooms for each option."""
    lists = catalog_lists(catalog)

    def filled(columns: Iterable[Column]) -> tuple[Column, ...]:
        return tuple(
            replace(column, choices=lists[column.listed], example=column.example or "".join(lists[column.listed][:1]))
            if column.listed else column for column in columns
        )

    counts = tuple(
        Column(f"{PAIRS_PREFIX}{option}", f"Pairs {option}", "whole", f"Speaker pairs in option {option}. Blank: as "
               "Pairs, or counted.", "1", rare=True, least=0, most=20) for option in catalog.options
    )
    return IntakeForm(
        job=SheetForm("Job", "The house, the client and the money.", "job", filled(JOB)),
        floors=SheetForm("Job", "Floors, where they differ.", "floor", filled(FLOORS)),
        rooms=SheetForm("Rooms", "One row a room. Five cells are enough.", "room", filled(ROOMS) + counts),
        zones=SheetForm("Zones", "Only zones that are more than their rooms.", "zone", filled(ZONES)),
        sources=SheetForm("Sources", "What plays.", "source", filled(SOURCES)),
        extras=SheetForm("Extras", "Doorbells, paging, owned equipment, spares, trenches, parts, allowances.", "extra",
                         filled(EXTRAS)),
        overrides=SheetForm("Overrides", "The estimator's corrections; applied last.", "override", filled(OVERRIDES)),
    )


def catalog_lists(catalog: Catalog) -> dict[str, tuple[str, ...]]:
    """The choices that the catalogue gives, each in file order."""
    ask = catalog.standards.rows
    return {
        "room kinds": _distinct(word for row in ask("room_kinds") for word in row.text("kind").split(",")),
        "options": catalog.options,
        "plays": (*catalog.options, "later", "never"),
        "places": tuple(catalog.places),
        "currencies": _distinct(place.currency for place in catalog.places.values()),
        "counting standards": _distinct((
            catalog.firm.counting_standard,
            *(word for row in ask("speaker_count") for word in row.text("counting_standard").split(",")),
        )),
        "priorities": _distinct(row.text("priority") for row in ask("recommendation")),
    }


def rate_limit(column: Column) -> Decimal:
    """The highest share that a column allows, as money counts it."""
    return Decimal(repr(column.most)) if column.most is not None else Decimal(1)


def _distinct(words: Iterable[str]) -> tuple[str, ...]:
    return tuple(dict.fromkeys(word for word in (word.strip() for word in words) if word not in ("", "-")))
