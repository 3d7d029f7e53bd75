"""The sheet Orders of a job record: each order by kind of cost, what of it is this job's, what is invoiced.

Packs and spools are bought whole. What is left over goes into stock at the price paid, never above it; the job bears
the rest, so that a pack that costs more, or by a quantity break less, than the quote reckons shows in its cost.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from decimal import Decimal

from msgspec import Struct
from msgspec.structs import replace

from quoting.buying import BuyLine, orders, purchase_list
from quoting.documents.job_row import amount
from quoting.documents.office_look import page, protect, table_head, title_block
from quoting.documents.sheet_writer import Sheet, address
from quoting.documents.ubl_order import order_name, order_number
from quoting.money import ZERO, minor_units, r2, share
from quoting.quote import PricedOption, Quote

HEADINGS = ("Supplier", "Cost of", "Order no.", "Order", "For this job", "Into stock", "Ordered on", "Ordered",
            "Invoice no.", "Invoiced", "Committed", "Actual", "To stock", "Note")
SUPPLIER, KIND, NUMBER, ORDER, OF_JOB, INTO_STOCK, ORDERED_ON, ORDERED, INVOICE, INVOICED = range(10)
COMMITTED, ACTUAL, STOCKED, REMARK = 10, 11, 12, 13
SUMS = (ORDER, OF_JOB, INTO_STOCK, ORDERED, INVOICED, COMMITTED, ACTUAL, STOCKED)
FREE_ROWS = 14  # for freight, change orders and whatever nobody planned
NOTE = ("Yellow is typed: Order and For this job anew after a change, Ordered, Invoiced, before tax that is no cost. "
        "What is left over is stock at the price paid. A row of your own: choose its cost; it bears all or its share.")
OWN_STOCK, ALL_SUPPLIERS = "own stock", "with all orders"
CONTRACTOR_TAX = "Tax that the firm pays on parts"


class OrderLine(Struct, frozen=True, kw_only=True):
    """One kind of cost of one order, as it is printed, and what of it the job bears."""

    supplier: str
    name: str  # of the order, the same in every revision; "" for what is no order
    number: str
    kind: str
    order: Decimal
    of_job: Decimal


class OrdersSheet(Struct, frozen=True):
    """Where the orders stand."""

    sheet: Sheet
    first: int
    last: int

    def of_kind(self, column: int, kind: str) -> str:
        """A formula's part: the sum of a column over the kind of cost that a cell names; 0 where it is empty."""
        kinds, amounts = (self.sheet.down(each, self.first, self.last) for each in (KIND, column))
        return f'IF({kind}=0,0,SUMIF({kinds},{kind},{amounts}))'


def parts_of(category: str) -> str:
    """What the record calls the cost of a category's parts."""
    return f"Parts: {category}"


def tails(quote: Quote, option: PricedOption) -> dict[str, Decimal]:
    """What the tails too short to keep cost, by part, as the quote counts them."""
    unit_costs = {part.part: part.unit_cost for part in quote.pricing.parts}
    return {each.part: r2(each.scrap * unit_costs.get(each.part, ZERO), quote.pricing.currency)
            for each in option.purchases if each.scrap}


def order_lines(quote: Quote, option: PricedOption) -> tuple[OrderLine, ...]:
    """What is ordered, and what comes from the firm's own stock, by supplier, order and kind of cost."""
    found: dict[tuple[str, str, str], OrderLine] = {}
    for line in _shares(quote, option):
        key = (line.supplier, line.number, line.kind)
        before = found.get(key)
        found[key] = replace(line, order=before.order + line.order, of_job=before.of_job + line.of_job) if (
            before) else line
    lines = [line for _, line in sorted(found.items(), key=lambda item: (item[0][0] == OWN_STOCK, item[0]))]
    return (*lines, *_taxed(quote, option, lines))


def _shares(quote: Quote, option: PricedOption) -> Iterator[OrderLine]:
    """What each size of pack of each part costs and what of it the job bears; what is taken from stock."""
    taken = _taken(quote, option)
    found = purchase_list(quote, option)
    order_of = {id(line): its for its in orders(quote, found) for line in its.lines}
    bought: dict[str, list[BuyLine]] = {}
    for line in found:
        bought.setdefault(line.part, []).append(line)
    for part, lines in bought.items():
        kind = parts_of(quote.parts[part].category)
        packs = [line for line in lines if line.put_up is not None]
        for line, stock in zip(packs, _into_stock(quote, option, part, packs), strict=True):
            its = order_of[id(line)]
            yield OrderLine(supplier=line.supplier, name=order_name(its), number=order_number(quote, option, its),
                            kind=kind, order=line.outlay, of_job=line.outlay - stock)
        if taken[part]:
            yield OrderLine(supplier=OWN_STOCK, name="", number=quote.buying.stock_file, kind=kind, order=taken[part],
                            of_job=taken[part])


def _into_stock(quote: Quote, option: PricedOption, part: str, packs: Sequence[BuyLine]) -> list[Decimal]:
    """What of each line's amount goes into stock: what is left over, at the price paid for it. Of cable the spools say
    which size it is left on; other packs share it by what they cost."""
    purchase = next(each for each in option.purchases if each.part == part)
    currency = quote.pricing.currency
    tails: dict[Decimal, Decimal] = {}
    for spool in option.spools:
        if spool.part == part and not spool.from_stock and spool.tail_to == "stock":
            tails[spool.size] = tails.get(spool.size, ZERO) + spool.tail
    if any(spool.part == part for spool in option.spools):
        return [r2(tails.pop(line.put_up.size, ZERO) * line.put_up.cost / line.put_up.size, currency)
                for line in packs if line.put_up]
    outlays = [line.outlay for line in packs]
    left = r2(purchase.to_stock * sum(outlays, ZERO) / purchase.buy, currency) if purchase.buy else ZERO
    return list(share(left, outlays, currency))


def _taken(quote: Quote, option: PricedOption) -> dict[str, Decimal]:
    """What of the firm's own stock the job keeps, at the cost that the quote gives it: of cable without what comes
    back on its spools."""
    unit_costs = {part.part: part.unit_cost for part in quote.pricing.parts}
    back: dict[str, Decimal] = {}
    for spool in option.spools:
        if spool.from_stock and spool.tail_to == "stock":
            back[spool.part] = back.get(spool.part, ZERO) + spool.tail
    return {each.part: r2((each.from_stock - back.get(each.part, ZERO)) * unit_costs.get(each.part, ZERO),
                          quote.pricing.currency) for each in option.purchases}


def _taxed(quote: Quote, option: PricedOption, lines: list[OrderLine]) -> Iterator[OrderLine]:
    """The tax that suppliers ask for and the firm keeps as a cost: on whole packs, and of it what is this job's."""
    tax: dict[str, Decimal] = {}
    cost: dict[str, Decimal] = {}
    for row in option.materials:
        kind = parts_of(quote.parts[row.part].category)
        tax[kind] = tax.get(kind, ZERO) + row.contractor_tax
        cost[kind] = cost.get(kind, ZERO) + row.cost
    asked = sum((r2(line.order * tax[line.kind] / cost[line.kind], quote.pricing.currency)
                 for line in lines if line.supplier != OWN_STOCK and cost.get(line.kind)), ZERO)
    if asked:
        yield OrderLine(supplier=ALL_SUPPLIERS, name="", number="", kind=CONTRACTOR_TAX, order=asked,
                        of_job=min(asked, option.totals.contractor_tax))


# ---------------------------------------------------------------- the sheet

def write_orders(sheet: Sheet, quote: Quote, option: PricedOption, kinds: str) -> OrdersSheet:
    """Writes the sheet. `kinds`: the cells of the sheet Cost that name what an order can be the cost of."""
    top = title_block(sheet, quote, f"Orders and invoices: {option.name}", NOTE)
    table_head(sheet, top, 0, HEADINGS, SUMS)
    lines = order_lines(quote, option)
    first = top + 1
    last = first + len(lines) + FREE_ROWS - 1
    for at, line in enumerate(lines, first):
        sheet.row_of_text(at, SUPPLIER, (line.supplier or "no supplier", line.kind))
        sheet.text(at, NUMBER, line.number, "wrap.input")
        _typed(sheet, quote, at, line)
    for at in range(first + len(lines), last + 1):
        sheet.row_of_text(at, SUPPLIER, ("", "", ""), "text.input")
        sheet.worksheet.data_validation(at, KIND, at, KIND, {
            "validate": "list", "source": f"={kinds}", "error_title": "Not a kind of cost",
            "error_message": "Choose one; name a new one in a yellow row of the sheet Cost first."})
        _typed(sheet, quote, at)
    _sums(sheet, quote, lines, first, last)
    sheet.worksheet.freeze_panes(first, KIND + 1)
    sheet.set_widths(at_least=9.5, at_most=32, G=11.0, I=11.0, N=16.0)
    page(sheet, quote, last + 1, REMARK, (top, top), keys=KIND + 1)
    protect(sheet)
    return OrdersSheet(sheet, first, last)


def _typed(sheet: Sheet, quote: Quote, at: int, line: OrderLine | None = None) -> None:
    """What is typed, and what of it is the job's: Committed and Actual together are its share of the dearer of both.
    What is ordered is prefilled, and typed anew once a change order orders otherwise."""
    places = minor_units(quote.pricing.currency)
    for column in (ORDERED_ON, INVOICE, REMARK):
        sheet.text(at, column, "", "text.input")
    amount(sheet, at, (ORDER, OF_JOB, ORDERED, INVOICED), "money.input")
    if line:
        sheet.number(at, ORDER, line.order, "money.input")
        sheet.number(at, OF_JOB, line.of_job, "money.input")
    order, of_job, ordered, invoiced, actual = (
        address(at, column) for column in (ORDER, OF_JOB, ORDERED, INVOICED, ACTUAL))
    whole = f"{order}=0" if line else f"OR({order}=0,{of_job}=0)"  # a row of one's own without a share bears all

    def borne(what: str) -> str:
        return f"ROUND(IF({whole},{what},{what}*{of_job}/{order}),{places})"

    sheet.money(at, INTO_STOCK, f"=IF({whole},0,ROUND({order}-{of_job},{places}))",
                line.order - line.of_job if line else ZERO)
    sheet.money(at, COMMITTED, f"=ROUND({borne(f'MAX({ordered},{invoiced})')}-{actual},{places})", ZERO)
    sheet.money(at, ACTUAL, f"={borne(invoiced)}", ZERO)
    sheet.money(at, STOCKED, f"=ROUND({invoiced}-{actual},{places})", ZERO)


def _sums(sheet: Sheet, quote: Quote, lines: tuple[OrderLine, ...], first: int, last: int) -> None:
    at, places = last + 1, minor_units(quote.pricing.currency)
    sheet.text(at, SUPPLIER, "All orders", "label.total")
    sheet.blanks(at, (KIND, NUMBER, ORDERED_ON, INVOICE, REMARK), "label.total")
    orders, of_job = (sum(each, ZERO) for each in ((line.order for line in lines), (line.of_job for line in lines)))
    planned: Mapping[int, Decimal] = {ORDER: orders, OF_JOB: of_job, INTO_STOCK: orders - of_job}
    for column in SUMS:
        span = f"{address(first, column)}:{address(last, column)}"
        sheet.money(at, column, f"=ROUND(SUM({span}),{places})", planned.get(column, ZERO), "money.total")
