"""The cautions of work in walls, ceilings and floors, by what the walls are made of."""

from __future__ import annotations

STONE = ("masonry", "concrete")
LICENSED = "Local rules and licensed trades decide; the inspector's word comes first."
LOOK = ("Drilling: look behind, scan, use a stop collar; pipes, wires, ducts and gas may be there. Power off if in "
        "doubt.")
FRAMING = "Never notch or bore beams, trusses or engineered joists outside their maker's limits."
MAINS = "Mains: never the same {ways}; keep {off}; cross at a right angle."
LADDERS = "Ladders on firm ground, one person holds; holes and open edges more than 6 ft (1.8 m) up are guarded."
SEAL_FRAMED = "Seal holes through fire-blocks and plates after pulling, rated walls by a listed system only."
SEAL_STONE = ("Seal holes through floors and rated walls after pulling, as local fire rules ask, by a listed system "
              "only.")
ATTIC = "Attic or crawl space: two people, light, water, mask, breaks; only on joists; no one alone in the heat."
STONE_DUST = ("Stone, plaster and concrete: their dust holds quartz. Chaser and drill with extraction, fine-dust mask, "
              "goggles, ear protection; close the room off, no dry sweeping.")
CHASES = ("Chases: as deep as the plaster, no deeper: where it is thinner than the cable, stop and ask; straight up "
          "or straight across, in the zones that local rules give; none in a pillar, lintel, chimney or "
          "thin wall. A load-bearing wall: an engineer says first.")
STONE_FLOORS = ("Before a floor or a ceiling of stone is drilled: scan for pipes, floor heating, wires and steel. "
                "Where any is, do not drill: ask.")
OLD_PAINT = "Old paint may hold lead, old ceilings asbestos: no cutting before a test or a lead-safe plan."


def rough_in_cautions(framed: bool, stone: bool) -> tuple[str, ...]:
    """What holds wherever cables go in: in framing, in stone, or in a house that has both."""
    off = " and ".join((*(("one stud space away",) if framed else ()),
                        *(("as far off in stone as local rules ask",) if stone else ())))
    return (
        LICENSED, LOOK, *((FRAMING,) if framed else ()), MAINS.format(
            ways="hole, box, chase or raceway" if stone else "hole, box or raceway", off=off),
        LADDERS, *((SEAL_FRAMED,) if framed else ()), *((SEAL_STONE,) if stone else ()),
        *((STONE_DUST, CHASES) if stone else ()))
