"""The hours and contingency block of the sheet Totals: expected hours, their spread, and the step to P80."""

from __future__ import annotations

from decimal import Decimal

from quoting.documents.office_inputs import InputCells
from quoting.documents.office_labour import LabourSheet
from quoting.documents.office_ledger import Ledger
from quoting.hours import P80_SIGMAS
from quoting.money import ZERO, round_to
from quoting.quote import PricedOption


def write_risk(ledger: Ledger, inputs: InputCells, labour: LabourSheet) -> None:
    """Spread adds linearly inside a group of tasks that go wrong together, in squares between groups."""
    options = ledger.rows.options
    ledger.section("Hours and contingency")
    ledger.line(
        "hours",
        "Hours expected (P50)",
        "sheet Labour",
        lambda index: labour.sum_of(labour.hours + index),
        [option.totals.hours for option in options],
        kind="other",
        style="hours",
    )
    keys = []
    for (phase, walls), number in ledger.rows.spreads.items():
        key = f"spread {number}"
        keys.append(key)

        def spread(index: int, number: int = number) -> str:
            high, low = (
                f"SUMIFS({labour.column(start + index)},{labour.column(labour.keys + 2)},{number})"
                for start in (labour.high, labour.low)
            )
            return f"({high}-{low})/6"

        ledger.line(
            key,
            f"Spread: {phase}, {walls}",
            "(high - low) / 6",
            spread,
            [_spread(option, phase, walls) for option in options],
            kind="other",
            style="measure",
            look="label.indent",
        )

    def p80(index: int) -> str:
        squares = "+".join(f"{ledger.here(key, index)}^2" for key in keys) or "0"
        return f"ROUND({ledger.here('hours', index)}+{P80_SIGMAS}*({squares})^0.5,2)"

    ledger.line(
        "p80",
        "Hours that eight jobs in ten stay under (P80)",
        f"expected + {P80_SIGMAS} x root of the squares",
        p80,
        [option.totals.p80_hours for option in options],
        kind="other",
        style="hours.total",
        look="label.total",
    )
    _contingency(ledger, inputs, labour)


def _spread(option: PricedOption, phase: str, walls: str) -> Decimal:
    found = [row for row in option.labour if (row.phase, row.wall_state) == (phase, walls)]
    return round_to(sum((row.high - row.low for row in found), ZERO) / 6, 12)


def _contingency(ledger: Ledger, inputs: InputCells, labour: LabourSheet) -> None:
    def contingency(index: int) -> str:
        cost, hours = labour.sum_of(labour.cost + index), ledger.here("hours", index)
        step = ledger.rounded(f"{cost}*({ledger.here('p80', index)}-{hours})/{hours}")
        by_rate = ledger.rounded(f"{inputs.job['contingency']}*{cost}")
        return f'IF({inputs.job["method"]}="rate",{by_rate},IF({hours}=0,0,{step}))'

    ledger.line(
        "contingency",
        "Contingency",
        "by rate, or the step to P80 at the cost of an hour",
        contingency,
        [option.totals.contingency for option in ledger.rows.options],
    )
