"""The payment plan: instalments that sum to the total, with a deposit no higher than the place allows."""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal
from typing import cast

from quoting.catalog.records import Catalog, Place
from quoting.lines import Phase
from quoting.money import ONE, ZERO, r2, share
from quoting.problems import Problem, stop
from quoting.quote import Instalment, PlanRow

AT_THE_END = PlanRow(name="Payment", trigger="on completion", share=ONE)


def plan_rows(place: Place | None, catalog: Catalog) -> tuple[tuple[PlanRow, ...], tuple[Problem, ...]]:
    """The instalments that a place's contracts use; one at the end where the place has no row in terms.csv."""
    if place is None:
        return (AT_THE_END,), ()
    answers = [answer for answer in catalog.standards.rows("payment_plan") if answer.text("plan") == place.plan]
    rows = tuple(
        PlanRow(name=answer.text("name"), trigger=answer.text("trigger"), share=answer.decimal("share_rate"),
                before=cast("Phase", answer.text("before")))
        for answer in answers
    )
    if not rows:
        known = ", ".join(sorted({answer.text("plan") for answer in catalog.standards.rows("payment_plan")}))
        return (AT_THE_END,), (stop(place.where, "no-plan", f"'{place.place}' pays by the plan '{place.plan}', which "
                                    "standards/payment_plan.csv does not have.", f"Type one of: {known}."),)
    whole = sum((row.share for row in rows), ZERO)
    if whole != ONE or any(row.share < 0 for row in rows):
        return rows, (stop(answers[0].where, "plan-shares", f"The shares of the plan '{place.plan}' sum to "
                           f"'{whole:f}'; allowed are shares from 0 that sum to 1.", "Change them so that they do."),)
    return rows, ()


def instalments(
    total: Decimal, rows: Sequence[PlanRow], cap_rate: Decimal | None, cap_amount: Decimal | None, currency: str,
) -> tuple[Instalment, ...]:
    """The total, split cumulatively. What the first instalment has over the cap is moved to the second.

    The cap is the lower of the two that the place has; a single instalment is no deposit and has none.
    """
    amounts = list(share(total, [row.share for row in rows], currency))
    caps = [r2(total * cap_rate, currency)] if cap_rate is not None else []
    caps += [r2(cap_amount, currency)] if cap_amount is not None else []
    if caps and len(amounts) > 1 and amounts[0] > min(caps):
        amounts[1] += amounts[0] - min(caps)
        amounts[0] = min(caps)
    return tuple(
        Instalment(name=row.name, trigger=row.trigger, share=row.share, amount=amount)
        for row, amount in zip(rows, amounts, strict=True)
    )
