"""Lines become a bill: lines of one part meet, the estimator's corrections apply, packs and spools are bought."""

from quoting.bill.buying import make_bill
from quoting.bill.overrides import stale_overrides
from quoting.bill.packs import cheapest_packs
from quoting.bill.rows import merge_lines

__all__ = ["cheapest_packs", "make_bill", "merge_lines", "stale_overrides"]
