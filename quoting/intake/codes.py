"""Short codes for rooms from their names, and numbers for zones: moving rows changes neither."""

from __future__ import annotations

import itertools
import re
import unicodedata
from collections.abc import Iterable, Iterator, Mapping

RESERVED = frozenset({"JOB", "SYS", "HE", "AMP", "CTL", "RACK", "NET", "SRC", "BELL", "PAGE", "OWN", "TRN", "EXT"})
_TAKEN_SHAPE = re.compile(r"[FZU]\d+[A-Z]?$")  # floors, zones and rack units are named so


def is_reserved(code: str) -> bool:
    """Whether a code belongs to something that is no room."""
    return code in RESERVED or bool(_TAKEN_SHAPE.match(code))


def derive_codes(names: Iterable[str], typed: Iterable[str]) -> Mapping[str, str]:
    """A code for each name that has none: at most 4 of A-Z and 0-9, a letter first, unique, none of them typed.

    Names are taken in alphabetical order, so that the order of rows does not matter.

    >>> dict(derive_codes(["Main bedroom", "Kitchen", "Bedroom 2", "Kitchenette"], ["MBED"]))
    {'Bedroom 2': 'BED2', 'Kitchen': 'KIT', 'Kitchenette': 'KITC', 'Main bedroom': 'MABE'}
    """
    taken = set(typed)
    codes: dict[str, str] = {}
    tails: dict[str, int] = {}
    for name in sorted(set(names)):
        free = (code for code in _candidates(name, tails) if code not in taken and not is_reserved(code))
        codes[name] = next(free)
        taken.add(codes[name])
    return codes


def _candidates(name: str, tails: dict[str, int]) -> Iterator[str]:
    """Codes for a name, the most telling first; never runs out. `tails` remembers how far a word has been counted."""
    plain = unicodedata.normalize("NFKD", name).encode("ascii", "ignore").decode().upper()
    words = re.findall(r"[A-Z]+|\d+", plain)
    letters = [word for word in words if word.isalpha()]
    number = next((word[:2] for word in reversed(words) if word.isdigit()), "")
    first = letters[0] if letters else "R"
    stems: list[str] = []
    if number:
        stems.append(first[: min(3, 4 - len(number))] + number)
    elif len(letters) > 2:
        stems.append("".join(word[0] for word in letters)[:4])
    if len(letters) > 1:
        stems += [first[0] + letters[-1][:3], first[:2] + letters[-1][:2]]
    stems += [first[:3], first[:4]]
    yield from stems
    for count in range(tails.get(first, 2), 1000):
        tails[first] = count  # everything before it is taken: codes are never given back
        tail = str(count)
        yield first[: 4 - len(tail)] + tail
    for a, b, c in itertools.product("ABCDEFGHIJKLMNOPQRSTUVWXYZ", repeat=3):
        yield f"X{a}{b}{c}"


def number_zones(typed: Mapping[str, int | None], listed: Iterable[int]) -> Mapping[str, int]:
    """A zone number for each room code: the typed one, else one of its own after all typed and listed ones.

    >>> dict(number_zones({"PAT": None, "KIT": 2, "BATH": None}, [1]))
    {'BATH': 3, 'KIT': 2, 'PAT': 4}
    """
    last = max([*(number for number in typed.values() if number), *listed], default=0)
    fresh = itertools.count(last + 1)
    return {code: typed[code] or next(fresh) for code in sorted(typed)}
