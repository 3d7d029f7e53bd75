"""The names that sources are chosen by: numbered where one name plays several things at once."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable

from quoting.documents.floor_plan import FactRow


def stream_names(sources: Iterable[FactRow]) -> dict[str, tuple[str, ...]]:
    """By source, a name for each input that it takes; players that share a name are numbered on.

    >>> stream_names([{"id": "SRC-1", "name": "Streamer", "inputs": 2}, {"id": "SRC-2", "name": "Radio", "inputs": 1},
    ...               {"id": "SRC-3", "name": "Streamer", "inputs": 1}])
    {'SRC-1': ('Streamer 1', 'Streamer 2'), 'SRC-2': ('Radio',), 'SRC-3': ('Streamer 3',)}
    """
    rows = tuple(sources)
    all_of: Counter[str] = Counter()
    for row in rows:
        all_of[row["name"]] += max(1, row["inputs"])
    said: Counter[str] = Counter()
    found = {}
    for row in rows:
        name, before = row["name"], said[row["name"]]
        said[name] += max(1, row["inputs"])
        found[row["id"]] = tuple(f"{name} {number}" for number in range(before + 1, said[name] + 1)) \
            if all_of[name] > 1 else (name,)
    return found
