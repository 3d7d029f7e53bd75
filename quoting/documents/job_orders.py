"""The sheet Orders of a job record: each order by kind of cost, what of it is this job's, what is invoiced.

Packs and spools are bought whole: the job bears what it uses, as the quote costs it, or what was paid where that is
less. The rest goes into stock, so that the orders booked as they are printed leave the budget where it is.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from decimal import Decimal

from quoting.buying import BuyLine, orders, purchase_list
from quoting.documents.job_row import amount
from quoting.documents.office_look import page, protect, table_head, title_block
from quoting.documents.sheet_writer import Sheet, address
from quoting.documents.ubl_order import order_number
from quoting.money import ZERO, minor_units, r2, share
from quoting.quote import PricedOption, Quote

HEADINGS = ("Supplier", "Cost of", "Order no.", "Order", "For this job", "Into stock", "Ordered on", "Ordered",
            "Invoice no.", "Invoiced", "Committed", "Actual", "To stock", "Note")
SUPPLIER, KIND, NUMBER, ORDER, OF_JOB, INTO_STOCK, ORDERED_ON, ORDERED, INVOICE, INVOICED = range(10)
COMMITTED, ACTUAL, STOCKED, REMARK = 10, 11, 12, 13
SUMS = (ORDER, OF_JOB, INTO_STOCK, ORDERED, INVOICED, COMMITTED, ACTUAL, STOCKED)
FREE_ROWS = 14  # for freight, change orders and whatever nobody planned
NOTE = ("Yellow is typed: once ordered the order's amount, once invoiced the invoice's, before tax that is no cost. "
        "The job bears its share of each; the rest is stock. A row of your own bears all: choose its cost.")
OWN_STOCK, ALL_SUPPLIERS = "own stock", "with all orders"
CONTRACTOR_TAX = "Tax that the firm pays on parts"


@dataclass(frozen=True, slots=True, kw_only=True)
class OrderLine:
    """One kind of cost of one order, as it is printed, and what of it the job bears."""

    supplier: str
    number: str
    kind: str
    order: Decimal
    of_job: Decimal


@dataclass(frozen=True, slots=True)
class OrdersSheet:
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
    found: dict[tuple[str, str, str], tuple[Decimal, Decimal]] = {}
    for supplier, number, kind, order, of_job in _shares(quote, option):
        before = found.get((supplier, number, kind), (ZERO, ZERO))
        found[supplier, number, kind] = (before[0] + order, before[1] + of_job)
    lines = [OrderLine(supplier=key[0], number=key[1], kind=key[2], order=sums[0], of_job=sums[1])
             for key, sums in sorted(found.items(), key=lambda item: (item[0][0] == OWN_STOCK, item[0]))]
    return (*lines, *_taxed(quote, option, lines))


def _shares(quote: Quote, option: PricedOption) -> Iterator[tuple[str, str, str, Decimal, Decimal]]:
    """Supplier, order, kind, amount and the job's share of it, a line for each size of pack of each part."""
    borne, taken = _borne(quote, option), _taken(quote, option)
    found = purchase_list(quote, option)
    numbers = {id(line): order_number(quote, option, its) for its in orders(quote, found) for line in its.lines}
    bought: dict[str, list[BuyLine]] = {}
    for line in found:
        bought.setdefault(line.part, []).append(line)
    for part, lines in bought.items():
        kind = parts_of(quote.parts[part].category)
        of_orders = min(borne.get(part, ZERO), sum((line.outlay for line in lines), ZERO))
        shares = share(of_orders, [line.outlay for line in lines], quote.pricing.currency)
        for line, its in zip(lines, shares, strict=True):
            if line.put_up is not None:
                yield line.supplier, numbers[id(line)], kind, line.outlay, its
        from_stock = min(borne.get(part, ZERO) - of_orders, taken[part])
        if from_stock:
            yield OWN_STOCK, quote.buying.stock_file, kind, from_stock, from_stock


def _borne(quote: Quote, option: PricedOption) -> dict[str, Decimal]:
    """What the quote says that each part costs the job: what is used, and tails too short to keep."""
    found = tails(quote, option)
    for row in option.materials:
        found[row.part] = found.get(row.part, ZERO) + row.cost
    return found


def _taken(quote: Quote, option: PricedOption) -> dict[str, Decimal]:
    """What is taken from stock, at the cost that the quote gives it."""
    unit_costs = {part.part: part.unit_cost for part in quote.pricing.parts}
    return {each.part: r2(each.from_stock * unit_costs.get(each.part, ZERO), quote.pricing.currency)
            for each in option.purchases}


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
        yield OrderLine(supplier=ALL_SUPPLIERS, number="", kind=CONTRACTOR_TAX, order=asked,
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
        sheet.row_of_text(at, SUPPLIER, (line.supplier or "no supplier", line.kind, line.number))
        for column, value in ((ORDER, line.order), (OF_JOB, line.of_job), (INTO_STOCK, line.order - line.of_job)):
            sheet.number(at, column, value, "money")
        _typed(sheet, quote, at)
    for at in range(first + len(lines), last + 1):
        sheet.row_of_text(at, SUPPLIER, ("", "", ""), "text.input")
        sheet.worksheet.data_validation(at, KIND, at, KIND, {
            "validate": "list", "source": f"={kinds}", "error_title": "Not a kind of cost",
            "error_message": "Choose one; name a new one in a yellow row of the sheet Cost first."})
        sheet.blanks(at, (ORDER, OF_JOB, INTO_STOCK), "money")
        _typed(sheet, quote, at)
    _sums(sheet, quote, lines, first, last)
    sheet.worksheet.freeze_panes(first, KIND + 1)
    sheet.set_widths(at_least=9.5, at_most=32, G=11.0, I=11.0, N=16.0)
    page(sheet, quote, last + 1, REMARK, (top, top), keys=KIND + 1)
    protect(sheet)
    return OrdersSheet(sheet, first, last)


def _typed(sheet: Sheet, quote: Quote, at: int) -> None:
    """What is typed, and what of it is the job's: Committed and Actual together are its share of the dearer of both."""
    places = minor_units(quote.pricing.currency)
    for column in (ORDERED_ON, INVOICE, REMARK):
        sheet.text(at, column, "", "text.input")
    amount(sheet, at, (ORDERED, INVOICED), "money.input")
    order, of_job, ordered, invoiced, actual = (
        address(at, column) for column in (ORDER, OF_JOB, ORDERED, INVOICED, ACTUAL))

    def borne(what: str) -> str:
        return f"ROUND(IF({order}=0,{what},{what}*{of_job}/{order}),{places})"

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
