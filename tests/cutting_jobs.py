"""Jobs to cut, from a stated generator: half of many short runs, half of few long ones that hardly fit together.

Job k is drawn by `random.Random(k)`, so it is the same on every machine and may be asked for by itself. Even jobs have
30 to 150 runs of 15 to 140 ft, odd ones 30 to 40 runs of 120 to 380 ft, in whole feet. The spools are those of one of
three cables, two in three jobs at 500 and 1,000 ft, the third at 250 ft too; each keeps back the larger of 15 ft and
5 %. Runs are pulled in groups of one to three, and as many spools as the largest group has runs are bought.
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from random import Random

from quoting.bill.cutting import PutUp, Run

# Cost by put-up in ft. 500 and 1,000: the prices that the methods were compared at; 250: invented, dearer by the foot.
CABLES = (
    {1000: 349, 500: 189, 250: 105},  # 14/2
    {1000: 429, 500: 235, 250: 129},  # 16/4
    {1000: 215, 500: 119, 250: 66},  # Cat 6
)
RESERVE_FT, RESERVE_RATE = Decimal(15), Decimal("0.05")


@dataclass(frozen=True, slots=True)
class CuttingJob:
    """What `cut_runs` takes."""

    number: int
    runs: tuple[Run, ...]
    put_ups: tuple[PutUp, ...]
    cartons: int


def make_cutting_job(number: int) -> CuttingJob:
    """Job `number` of the generator."""
    random = Random(number)
    few = number % 2 == 1
    count = random.randint(30, 40) if few else random.randint(30, 150)
    shortest, longest = (120, 380) if few else (15, 140)
    lengths = [random.randint(shortest, longest) for _ in range(count)]
    groups: list[str] = []
    while len(groups) < count:
        size = random.randint(1, 3)
        groups += [f"G{len(groups)}" if size > 1 else ""] * size
    runs = tuple(Run(str(101 + place), "", Decimal(length), group)
                 for place, (length, group) in enumerate(zip(lengths, groups, strict=False)))
    sizes = (1000, 500, 250) if number % 3 == 2 else (1000, 500)
    cable = random.choice(CABLES)
    put_ups = tuple(make_put_up(size, cable[size]) for size in sizes)
    together = max(sum(run.pull_group == group for run in runs) for group in {run.pull_group for run in runs} - {""})
    return CuttingJob(number, runs, put_ups, together)


def make_put_up(size_ft: int, cost: int | str) -> PutUp:
    """A spool that keeps back its reserve."""
    size = Decimal(size_ft)
    return PutUp(size, size - max(RESERVE_FT, size * RESERVE_RATE), Decimal(cost))
