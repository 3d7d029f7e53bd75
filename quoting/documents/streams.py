"""The names that a source is chosen by: numbered where it plays several things at once."""

from __future__ import annotations

from quoting.documents.floor_plan import FactRow


def stream_names(source: FactRow) -> tuple[str, ...]:
    """One name for each input that it takes.

    >>> stream_names({"name": "Music streamer", "inputs": 2}), stream_names({"name": "Radio", "inputs": 1})
    (('Music streamer 1', 'Music streamer 2'), ('Radio',))
    """
    name, inputs = source["name"], source["inputs"]
    return tuple(f"{name} {number}" for number in range(1, inputs + 1)) if inputs > 1 else (name,)
