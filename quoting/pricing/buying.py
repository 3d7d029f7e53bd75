"""What the purchase list and the files for other programs need beside the bill, from the catalogue's tables."""

from __future__ import annotations

from collections.abc import Iterable

from quoting.catalog.records import Catalog
from quoting.quote import BuyingInputs, Substitute

LONG_LEAD = "long lead"  # a row of standards/buying.csv


def buying_inputs(catalog: Catalog, parts: Iterable[str], stock_file: str = "") -> BuyingInputs:
    """Days, substitutes of these parts and codes; what the catalogue does not say is 0 or empty."""
    used = set(parts)
    days = {answer.text("item"): int(answer.decimal("value")) for answer in catalog.standards.rows("buying")}
    return BuyingInputs(
        long_lead_days=days.get(LONG_LEAD, 0), stock_file=stock_file,
        substitutes=tuple(
            Substitute(part=row.part, substitute=row.substitute, description=other.description,
                       lead_days=other.lead_days, note=row.note)
            for row in catalog.substitutes if row.part in used and (other := catalog.parts.get(row.substitute))),
        not_carried=_not_carried(catalog),
        codes={f"{answer.text('kind')} {answer.text('name')}": answer.text("code")
               for answer in catalog.standards.rows("exchange_code")},
    )


def _not_carried(catalog: Catalog) -> tuple[str, ...]:
    """Categories that standards/picking.csv keeps off the van; none where the catalogue has no such table."""
    if "picking" not in catalog.standards.tables:
        return ()
    categories = dict.fromkeys(part.category for part in catalog.parts.values())
    return tuple(name for name in categories if not catalog.standards.ask("picking", category=name).yes("carried"))
