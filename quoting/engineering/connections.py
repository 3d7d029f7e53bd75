"""Every plugged or landed connection of one option, made from all its other facts: the last engineering step."""

from __future__ import annotations

from quoting.engineering.brief import Brief, Result
from quoting.engineering.connect_audio import bells_and_pages, room_input_leads, source_leads, zone_leads
from quoting.engineering.connect_control import (
    keypad_connections,
    links,
    network_connections,
    source_control,
    trigger_connections,
)
from quoting.engineering.connect_mains import mains_connections
from quoting.engineering.connect_speakers import speaker_connections
from quoting.engineering.lead_reach import with_ways
from quoting.engineering.meter_reading import with_readings
from quoting.engineering.socket_ledger import Ledger


def connections(brief: Brief) -> Result:
    """A Connection each, group by group; a warning for each socket that a part lacks."""
    ledger = Ledger(brief)
    for group in (speaker_connections, zone_leads, source_leads, room_input_leads, bells_and_pages, keypad_connections,
                  source_control, trigger_connections, links, network_connections, mains_connections):
        group(ledger)
    made, short = with_ways(brief, ledger.made)
    return tuple(with_readings(brief, made)), tuple(dict.fromkeys((*ledger.problems, *short)))
