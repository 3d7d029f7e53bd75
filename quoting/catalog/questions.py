"""The questions that standards answer: for each, what is asked with and what comes back.

standards/<question>.csv has a `row` id, a column per input (a condition cell each), a column per answer, then
`unit`, `reference`, `from_date`, `note`. Exactly one row must answer. An input or answer with a unit suffix may be
headed in any unit of the same kind (`area_ft2` for `area_m2`).
"""

from __future__ import annotations

from typing import get_args

from quoting.facts.cable import CableWay
from quoting.job import (
    Above,
    Access,
    Connector,
    Construction,
    Control,
    Distance,
    Job,
    Listening,
    Mount,
    Room,
    Setting,
    SourceWish,
    SpeakerLine,
    WallState,
    Zone,
)
from quoting.lines import PHASES, TaskTime
from quoting.quote import MarkupBasis, WhatIfKind
from quoting.tables.conditions import FieldKind
from quoting.tables.decision import Question

# Inputs and answers whose every value is known: a misspelt one is told of, and so is one that no row answers.
MOUNT: FieldKind = get_args(Mount)
LISTENING: FieldKind = get_args(Listening)
SETTING: FieldKind = get_args(Setting)
CONTROL: FieldKind = get_args(Control)
DISTANCE: FieldKind = get_args(Distance)
ABOVE: FieldKind = get_args(Above)
WALL_STATE: FieldKind = get_args(WallState)
CONNECTOR: FieldKind = get_args(Connector)
BASIS: FieldKind = get_args(MarkupBasis)
PHASE: FieldKind = PHASES
WHAT_IF: FieldKind = get_args(WhatIfKind)
_DEVICES = ("speaker", "control", "input", "tv", "door", "network")  # what a cable may end at
DEVICE: FieldKind = _DEVICES
END: FieldKind = ("head end", *_DEVICES)
CABLE_WAY: FieldKind = get_args(CableWay)
CONSTRUCTION: FieldKind = get_args(Construction)
ACCESS: FieldKind = get_args(Access)
RUN_START: FieldKind = ("head end", "wall", "ceiling")
RUN_END: FieldKind = ("wall", "ceiling", "outside")
RACK_THING: FieldKind = (
    "ups", "power strip", "remote power unit", "surge strip", "amplifier", "controller", "owned equipment", "source",
    "shelf", "blank panel", "keypad hub", "network switch", "patch panel", "brush plate", "vent panel", "fan panel",
)
FEED: FieldKind = ("stereo", "mono")  # a constant-voltage line is mono
PATTERN: FieldKind = ("edge-to-edge", "minimum", "full")
GRID: FieldKind = ("square", "hexagonal")
FORM: FieldKind = ("pair", "single-stereo")
PLAYS: FieldKind = ("now", "in a later option", "later", "never")
STATE: FieldKind = ("live", "wired-only", "out")
SET_FROM: FieldKind = ("open framing", "above", "its hole")  # which way a back box comes to its place
BACK_BOX: FieldKind = ("none", "sealed", "rated")
CABLE: FieldKind = ("speaker", "category", "other")
STRANDING: FieldKind = ("solid", "stranded", "flexible")
VOLTAGE_LINE: FieldKind = get_args(SpeakerLine)[1:]
CONDUIT: FieldKind = ("attic", "basement", "outside")
TASK_TIME: FieldKind = ("", *get_args(TaskTime))
BUYING: FieldKind = ("long lead", "one order")
EXCHANGED: FieldKind = ("unit", "tax category")
UNITS: FieldKind = ("imperial", "metric")
WALL_DEVICE: FieldKind = ("tv", "input", "control", "second control", "head end")
RACK_STAND: FieldKind = ("rack", "wall rack", "shelf")
ROOM_WALL: FieldKind = ("front", "right", "back", "left")
ANSWERS_OF: dict[str, tuple[str, ...]] = {
    sheet: record.__struct_fields__
    for sheet, record in (("Rooms", Room), ("Zones", Zone), ("Sources", SourceWish), ("Job", Job))
}
ANSWER_SHEET: FieldKind = tuple(ANSWERS_OF)
ANSWER: FieldKind = tuple(dict.fromkeys(answer for answers in ANSWERS_OF.values() for answer in answers))
WALL_START: FieldKind = ("middle", "left corner", "right corner", "back corner", "front corner")

# Types: "text", "number", "yes/no", or a tuple of choices. A name that ends in a unit is a number in that unit.
QUESTIONS: dict[str, Question] = {
    question.name: question
    for question in (
        # What a salesperson may leave blank
        Question("room_kinds", {"kind": "text"}, {
            "plays_from": "text", "mount": MOUNT, "listening": LISTENING, "setting": SETTING, "control": CONTROL,
            "distance": DISTANCE, "daily": "yes/no", "words": "text",
        }),
        Question("distance_band", {"distance": DISTANCE}, {"plan_m": "number"}),
        Question("open_questions", {"attribute": "text"}, {
            "question": "text", "worse": "text", "who": "text", "by_phase": PHASE,
        }),
        Question("change_answers", {"sheet": ANSWER_SHEET, "answer": ANSWER}, {"words": "text"}, listed=True),
        #   answers that show in the house and that nothing else on a change order tells
        # Speakers
        Question("speaker_count", {
            "counting_standard": "text", "listening": LISTENING, "outdoor": "yes/no", "ceiling_height_m": "number",
            "area_m2": "number",
        }, {"pairs": "number", "area_per_pair_m2": "number"}),  # pairs: 0 = by area; else the fixed count
        Question("speaker_form", {
            "outdoor": "yes/no", "mount": MOUNT, "area_m2": "number", "shortest_m": "number",
        }, {"form": FORM, "spacing_m": "number"}),  # pair, single-stereo (one every spacing_m of the longer side)
        Question("extra_pair", {"area_m2": "number", "slenderness": "number"}, {"extra_pairs": "number"}),
        Question("speaker_role", {
            "form": FORM, "mount": MOUNT, "setting": SETTING, "ceiling_height_m": "number", "area_m2": "number",
            "slope_deg": "number",
        }, {"role": "text"}),  # slope_deg: the steepest that the ceiling's two heights allow
        Question("option_pairs", {"option": "text", "form": FORM, "full_pairs": "number"}, {"at_most": "number"},
                 whole=("full_pairs",)),
        Question("room_state", {"wall_state": WALL_STATE, "plays": PLAYS}, {"state": STATE}),
        #   plays: now, in a later option, later, never; state: live, wired-only, out
        Question("control_given", {"option": "text", "wanted": CONTROL, "daily": "yes/no"}, {"control": CONTROL}),
        Question("back_box", {"above": ABOVE, "mount": MOUNT, "wall_state": WALL_STATE, "access": ACCESS},
                 {"back_box": BACK_BOX, "set_from": SET_FROM}),
        Question("speaker_outlet", {"outdoor": "yes/no", "mount": MOUNT, "goes_on": "yes/no"}, {"box": "yes/no"}),
        #   goes_on: a cable to the next loudspeaker is joined there; box: a ring or box in the wall for its cable
        Question("wall_box", {
            "outdoor": "yes/no", "construction": CONSTRUCTION, "wall_state": WALL_STATE, "deep": "yes/no",
        }, {"role": "text", "words": "text"}),  # deep: what goes into it asks for a deep ring
        Question("room_caution", {"setting": SETTING, "near_water": "yes/no"}, {"caution": "text"}),
        Question("listening_level", {"listening": LISTENING}, {
            "target_db": "number", "peak_db": "number",
        }),
        Question("overlap_pattern", {"feed": FEED, "listening": LISTENING}, {
            "pattern": PATTERN, "grid": GRID, "variation_db": "number",
        }),
        Question("speaker_placing", {"outdoor": "yes/no"}, {
            "off_wall_m": "number", "pair_least_m": "number", "pair_most_m": "number", "farthest_m": "number",
            "keep_clear_m": "number", "nearest_m": "number",
        }),
        Question("wall_place", {"device": WALL_DEVICE, "outdoor": "yes/no"}, {
            "wall": ROOM_WALL, "start": WALL_START, "along_m": "number", "apart_m": "number",
        }),  # facing the front wall; apart: from the middle of one device to the next, where the walls allow
        Question("low_wall", {"outdoor": "yes/no"}, {"wall": ROOM_WALL}),
        Question("speaker_cavity", {"item": "text"}, {"length_m": "number"}),
        Question("speaker_aim", {"mount": MOUNT, "angled": "yes/no"}, {"tilt_deg": "number"}),  # from straight down
        Question("listening_plane", {"outdoor": "yes/no"}, {
            "ear_m": "number", "grid_m": "number", "margin_m": "number",
        }),
        Question("hearing", {"item": "text"}, {"level_db": "number"}),
        Question("early_piece", {"mount": MOUNT, "wall_state": WALL_STATE, "ring": "yes/no"}, {"piece": "text"}),
        #   out of a loudspeaker's box that the rough-in needs; ring: a ring or box in the wall for its cable
        # Cable
        Question("device_height", {"device": DEVICE, "mount": MOUNT}, {
            "above_floor_m": "number", "drop_m": "number",  # above_floor 0: at the ceiling, plus drop_m
        }),
        Question("slack", {"end": END, "outdoor": "yes/no"}, {"slack_m": "number"}),
        Question("route_factor", {"wall_state": WALL_STATE, "joists": "text"}, {"route_factor": "number"}),
        Question("cable_waste", {"cable": CABLE, "wall_state": WALL_STATE}, {"waste_rate": "number"}),
        Question("framing_limit", {"item": "text"}, {"value": "number"}),
        #   stud bored share, plate cut share, strap width in, holes apart (times the wider one), face plate in
        Question("vertical", {"item": "text"}, {"length_m": "number"}),  # head-end rise, floor thickness, burial depth
        Question("cable_way", {"outdoor": "yes/no", "mount": MOUNT}, {"way": CABLE_WAY}),
        Question("run_way", {
            "start": RUN_START, "end": RUN_END, "construction": CONSTRUCTION, "wall_state": WALL_STATE,
            "access": ACCESS,
        }, {"via": "text"}),  # what the pull list calls the way indoors
        Question("gauge_limit", {"listening": LISTENING}, {"limit_rate": "number", "stop_rate": "number"}),
        Question("thinnest_gauge", {"gauge_system": ("AWG", "mm2")}, {"area_mm2": "number"}),
        Question("cable_rating", {
            "outdoor": "yes/no", "from_house": "yes/no", "floors_crossed": "number", "plenum": "yes/no",
            "dwelling": "text",
        }, {"rating": "text"}, whole=("floors_crossed",)),
        Question("spare_cables", {"device": ("control", "input", "tv")}, {"spares": "number"}),
        Question("structured_limit", {"cable": "text"}, {"limit_m": "number", "stop_m": "number"}),
        Question("stranding", {"stranding": STRANDING}, {"length_rate": "number"}),  # of the strands over the cable's
        Question("cable_design", {"item": "text"}, {"value": "number"}),
        Question("box_room", {"area_mm2": "number"}, {"volume_cm3": "number"}),  # that a conductor takes of its box
        Question("terminal_limit", {"terminal": "text"}, {"thickest_mm2": "number"}),  # 0: takes any conductor
        Question("rating_substitute", {"rating": "text"}, {"may_replace": "text"}),  # the next less strict; "" for none
        Question("separation", {"regime": "text", "power": "text", "signal": "text", "divider": "text"}, {
            "used_in": ("imperial", "metric", "both"), "apart_mm": "number", "advice": "text",
        }, listed=True),
        # Constant-voltage lines
        Question("line_limit", {"line": VOLTAGE_LINE}, {
            "line_v": "number", "share_rate": "number", "stop_share_rate": "number", "loss_rate": "number",
            "stop_loss_rate": "number",
        }),  # taps over the amplifier's power; voltage lost at the farthest speaker
        Question("line_speaker_role", {"mount": MOUNT, "setting": SETTING}, {"role": "text"}),
        # Pathways
        Question("conduit", {"to": CONDUIT, "unit_system": UNITS}, {"count": "number", "diameter_mm": "number"}),
        Question("pull", {"wall_state": WALL_STATE}, {
            "cables_per_pull": "number", "stud_spacing_m": "number", "crossing_rate": "number", "fill_rate": "number",
            "largest_hole_mm": "number",
        }),  # share of a way that crosses framing where nobody knows the joists; of a hole that cables fill
        Question("work_limit", {"item": "text"}, {"value": "number"}),
        #   two lift lb, rack air f, meter db, uncounted buttons: what the papers tell, whatever is designed
        Question("spool", {"item": "text"}, {"length_m": "number", "value": "number"}),
        #   reserve length (length_m), reserve rate, parallel pulls, waste value (value)
        # Head end
        Question("source_landing", {"connector": CONNECTOR}, {
            "input_connector": "text", "lead_role": "text", "converter_role": "text",  # "" for none
        }),
        Question("head_end_stand", {"stand": RACK_STAND}, {
            "wide_m": "number", "front_clear_m": "number", "rear_clear_m": "number", "side_clear_m": "number",
        }),
        Question("slack_place", {"stand": RACK_STAND}, {"words": "text"}),  # where the cables' slack hangs
        Question("head_end_room", {"item": "text"}, {"length_m": "number"}),
        #   closet length, closet width (where nobody said), entry least: how low cables may come out
        Question("head_end", {"item": "text"}, {"value": "number"}),
        Question("old_house", {"place": "text"}, {"lead_before": "number", "asbestos_before": "number"}),
        Question("mains", {"place": "text", "unit_system": UNITS}, {"line_v": "number", "circuit_a": "number"}),
        Question("rack_order", {"what": RACK_THING}, {"level": "number"}),  # from the bottom of the rack
        Question("trigger", {"item": "text"}, {"value": "number"}),
        # Hours
        Question("crew", {"phase": PHASE, "area_m2": "number"}, {
            "crew": "number", "productive_hours": "number", "on_site": "yes/no",
        }),
        Question("task_time", {"task": "text"}, {"time": TASK_TIME}, listed=True),
        #   when a task is done, where it is not by the crew on its phase's visits
        Question("phase_gap", {
            "phase": PHASE, "wall_state": WALL_STATE, "chase_m": "number", "opened_rooms": "number",
        }, {"gap_days": "number", "parts_days": "number"}, whole=("opened_rooms",)),
        #   working days from the phase before it, or to the one that waits for it; its parts come so many ahead.
        #   chase_m: in walls of stone; opened_rooms: finished ones whose cables come in through openings of their own
        Question("contingency", {"wall_state": WALL_STATE}, {"method": ("rate", "P80"), "contingency_rate": "number"}),
        Question("phase_words", {"phase": PHASE}, {"words": "text"}),
        # Money
        Question("markup", {"category": "text"}, {
            "words": "text",  # what the customer calls the category; "": its name
            "basis": BASIS, "markup_rate": "number", "freight_rate": "number", "warn_days": "number",
        }),
        Question("counted_waste", {"category": "text"}, {"waste_rate": "number"}),
        Question("payment_plan", {"plan": "text", "step": "number"}, {
            "name": "text", "trigger": "text", "share_rate": "number", "before": ("", *PHASES),
        }, whole=("step",), listed=True),  # before: the phase whose costs it comes in ahead of; "": when all is done
        Question("what_if", {"name": "text"}, {
            "kind": WHAT_IF, "category": "text", "change_rate": "number",
        }, listed=True),  # what the owner's page tries: on price, on hours, on cost
        # Buying, and files for other programs
        Question("buying", {"item": BUYING}, {"value": "number"}, listed=True),
        Question("part_buying", {"part": "text"}, {
            "coloured": "yes/no", "colour_days": "number", "ordered_with": "text", "on_the_day": "yes/no",
            "enclose": "text",
        }, listed=True),  # how a part is bought that is not bought like others
        Question("order_gate", {"plan": "text", "step": "number"}, {"phase": PHASE}, whole=("step",), listed=True),
        #   the payment that has come before anything for this phase, or for a later one, is ordered
        Question("order_waits", {"statement": "text"}, {"part": "text"}, listed=True),
        #   what others do by the day on which the part is ordered, not by that of the phase that uses it
        Question("picking", {"category": "text"}, {"carried": "yes/no"}),
        Question("exchange_code", {"kind": EXCHANGED, "name": "text"}, {"code": "text"}, listed=True),
        Question("extra_work", {"item": ("change", "later visit")}, {"role": "text", "hours": "number"}),
        #   who does it at that role's price; hours of the visit that equips one room later
        Question("recommendation", {"priority": "text", "option": "text"}, {"weight": "number", "reason": "text"}),
    )
}
