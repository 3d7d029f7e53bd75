"""What a cutting costs at least, by a second solver with a model of its own: which run lies on which spool.

The project's own integer program counts ways to fill a spool; this one knows nothing of them, so that the two agree
only where both are right.
"""

from __future__ import annotations

from dataclasses import dataclass

from ortools.sat.python import cp_model

from quoting.bill.cutting import Cutting
from tests.cutting_jobs import CuttingJob


@dataclass(frozen=True, slots=True)
class Second:
    """What the second solver says: whether it is sure, the cheapest cost that it knows of, what it cannot go below."""

    proved: bool
    cost: float
    bound: float


def second_opinion(job: CuttingJob, cutting: Cutting, seconds: float = 10.0) -> Second:
    """The least cost of a job in whole dollars, from the cutting's own spools on; asked for some seconds at most."""
    model = cp_model.CpModel()
    lengths = sorted((int(run.length) for run in job.runs), reverse=True)
    placed: list[list[cp_model.IntVar]] = [[] for _ in lengths]
    used, costs, rooms = [], [], []
    for put_up in job.put_ups:
        room, cost = int(put_up.holds), int(put_up.cost)
        before = None
        for _ in range(int(cutting.cost) // cost):
            spool = model.new_bool_var("")
            on_it = [(place, model.new_bool_var("")) for place, length in enumerate(lengths) if length <= room]
            for place, here in on_it:
                placed[place].append(here)
            model.add(sum(lengths[place] * here for place, here in on_it) <= room * spool)
            if before is not None:
                model.add_implication(spool, before)  # spools of one size are alike
            before = spool
            used.append(spool)
            costs.append(cost)
            rooms.append(room)
    for somewhere in placed:
        model.add_exactly_one(somewhere)
    model.add(sum(used) >= job.cartons)
    model.add(sum(room * spool for room, spool in zip(rooms, used, strict=True)) >= sum(lengths))
    outlay = sum(cost * spool for cost, spool in zip(costs, used, strict=True))
    model.add(outlay <= int(cutting.cost))
    model.minimize(outlay)
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 1
    solver.parameters.random_seed = 1
    solver.parameters.max_time_in_seconds = seconds
    status = solver.solve(model)
    found = status in (cp_model.OPTIMAL, cp_model.FEASIBLE)
    cost = solver.objective_value if found else float(cutting.cost)
    return Second(status == cp_model.OPTIMAL, cost, solver.best_objective_bound)
