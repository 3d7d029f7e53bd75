"""What is plugged into what, or landed on what, as facts: the schedules and the hook-up sheet are lists of these."""

from __future__ import annotations

from quoting.facts.fact import Fact

JOINT = "joint"  # wires joined in a box or a speaker's opening
WALL_JACK = "wall jack"
WALL_OUTLET = "wall outlet"  # the electrician's; the index is the circuit
ROUTER = "router"
WINDOW = "infrared window"  # what an emitter is stuck on
OF_THE_HOUSE = (JOINT, WALL_JACK, WALL_OUTLET, ROUTER, WINDOW)  # no part of the catalogue has these sockets
NO_SOCKET = "no socket"  # the part lacks it, or none is free: a problem says so


class Connection(Fact, frozen=True, kw_only=True):
    """One thing plugged into, or landed on, another in one option. Ids 101211L, Z3-IN1, SRC-1-L1, U12-P.

    A device is a fact's id, a place's where wires are only joined, or a rack place's where a box has no fact of its
    own (U12: the converter that stands there). A socket is signal and connector of sockets.csv ("line RCA"), or one
    of OF_THE_HOUSE, or what somebody typed where the customer owns the device. Signal or power goes from `from` to
    `to`.
    """

    group: str  # speaker, zone lead, source, trigger, control, network, mains, link
    from_device: str
    from_part: str  # "" for what the customer owns and what is no part
    from_socket: str
    from_index: int  # counted along sockets of one kind: the channel, the output, the port; 0: none
    from_side: str  # L, R, LR (both plugs of a stereo lead), M; "" where it has no sides
    to_device: str
    to_part: str
    to_socket: str
    to_index: int
    to_side: str
    run: str = ""  # cable id; "" where a lead of its own does it
    lead: str = ""  # part; "" where a cable does it or the device brings its own
    through: str = ""  # parts in the middle of the lead, by comma: splitter, summing adaptor, isolator
    joint: str = ""  # the connections that meet here by design: "101211L, 101212L"
    bridged: bool = False  # across this channel and the next
    way_m: float = 0.0  # what a lead goes in and between racks, with its bends; 0: not both ends stand in a rack
    powered: str = ""  # mains, ups, poe, bus, trigger: it brings power
    note: str = ""
    meter_low_ohm: float = 0.0  # of the cable's rack end before it is landed, by direct current; 0: a meter cannot tell
    meter_high_ohm: float = 0.0  # 0 beside a lowest one: over cable whose length nobody knows
    loop_low_ohm: float = 0.0  # of the wire alone, out and back, to where the cable ends, a line to its last speaker
    loop_high_ohm: float = 0.0  # 0: not said, or nobody knows its length
    wire_low_ohm: float = 0.0  # of this speaker cable by itself, out and back; 0: nobody knows its length
    wire_high_ohm: float = 0.0
