"""The tax block of the sheet Totals: the discount shared over what is taxed, then each tax rounded by itself."""

from __future__ import annotations

from decimal import Decimal

from quoting.documents.office_bill import BillSheet
from quoting.documents.office_inputs import InputCells
from quoting.documents.office_labour import LabourSheet
from quoting.documents.office_ledger import FIRST, Ledger
from quoting.documents.office_look import show_rate
from quoting.documents.office_rows import ALL, FREIGHT, LABOUR
from quoting.documents.office_tax_lines import LABOUR_KEY, TaxLines
from quoting.documents.sheet_writer import letters
from quoting.money import ZERO, r2, share
from quoting.quote import PricedOption, TaxRule

Amounts = list[list[Decimal]]  # by category, by option


def write_split(ledger: Ledger, bill: BillSheet, labour: LabourSheet) -> None:
    """Price by category, the discount up to each category, its share, and what is left to tax."""
    rows = ledger.rows
    names = [*rows.categories, LABOUR]
    sums = [[_price_of(option, name, ledger) for option in rows.options] for name in names]
    _prices(ledger, bill, labour, names, sums)
    shares = [
        list(column)
        for column in zip(
            *(
                share(option.totals.discount, [amounts[index] for amounts in sums], rows.quote.pricing.currency)
                for index, option in enumerate(rows.options)
            ),
            strict=True,
        )
    ]
    _up_to(ledger, names, shares)
    _shares(ledger, names, shares)
    _bases(ledger, names, sums, shares)


def _price_of(option: PricedOption, name: str, ledger: Ledger) -> Decimal:
    if name == LABOUR:
        return option.totals.labour
    return sum((row.price for row in option.materials if ledger.rows.category(row.part) == name), ZERO)


def _prices(ledger: Ledger, bill: BillSheet, labour: LabourSheet, names: list[str], sums: Amounts) -> None:
    ledger.section("Price by category", "before the discount")
    for name, values in zip(names, sums, strict=True):
        if name == LABOUR:
            ledger.line(
                f"price {name}", "labour", "all sold hours", lambda index: labour.sum_of(labour.price + index), values
            )
            continue
        number = ledger.rows.categories[name]

        def by_category(index: int, number: int = number) -> str:
            return ledger.rounded(f"SUMIFS({bill.column(bill.price + index)},{bill.column(bill.keys)},{number})")

        ledger.line(f"price {name}", name or "no category", f"category {number}", by_category, values)


def _up_to(ledger: Ledger, names: list[str], shares: Amounts) -> None:
    """The running share of the discount: cumulative, so that the shares sum to it to the cent."""
    ledger.section("Discount up to and with this category", "discount x running price / whole price")
    running = [ZERO] * len(ledger.rows.options)
    for number, name in enumerate(names):
        running = [before + part for before, part in zip(running, shares[number], strict=True)]

        def up_to(index: int, name: str = name, last: bool = number == len(names) - 1) -> str:
            discount = ledger.here("discount", index)
            if last:
                return discount
            column = letters(FIRST + index)
            first = ledger.named[f"price {names[0]}"] + 1
            here, end = ledger.named[f"price {name}"] + 1, ledger.named[f"price {names[-1]}"] + 1
            whole = f"ROUND(SUM({column}{first}:{column}{end}),{ledger.places})"
            part = f"ROUND(SUM({column}{first}:{column}{here}),{ledger.places})"
            return f"IF({whole}=0,0,ROUND({discount}*{part}/{whole},{ledger.places}))"

        ledger.line(f"up to {name}", name or "no category", "", up_to, list(running))


def _shares(ledger: Ledger, names: list[str], shares: Amounts) -> None:
    ledger.section("Discount's share of this category", "up to here less up to the one before")
    for number, name in enumerate(names):

        def part(index: int, number: int = number, name: str = name) -> str:
            here = ledger.here(f"up to {name}", index)
            return ledger.rounded(f"{here}-{ledger.here(f'up to {names[number - 1]}', index)}" if number else here)

        ledger.line(f"share {name}", name or "no category", "", part, shares[number])


def _bases(ledger: Ledger, names: list[str], sums: Amounts, shares: Amounts) -> None:
    ledger.section("Left to tax", "price less the discount's share; freight gets no discount")
    options = ledger.rows.options
    for number, name in enumerate(names):

        def left(index: int, name: str = name) -> str:
            return ledger.rounded(f"{ledger.here(f'price {name}', index)}-{ledger.here(f'share {name}', index)}")

        values = [price - part for price, part in zip(sums[number], shares[number], strict=True)]
        ledger.line(f"base {name}", name or "no category", "", left, values)
    ledger.line(
        f"base {FREIGHT}",
        "freight",
        "",
        lambda index: ledger.here("freight", index),
        [option.totals.freight for option in options],
    )
    keys = [f"base {name}" for name in (*names, FREIGHT)]
    ledger.total(
        f"base {ALL}",
        "everything",
        "materials + labour + freight - discount",
        lambda index: ledger.sum(keys, index),
        [_everything(option) for option in options],
    )


def _everything(option: PricedOption) -> Decimal:
    totals = option.totals
    return totals.materials + totals.labour + totals.freight - totals.discount


def write_taxes(ledger: Ledger, inputs: InputCells) -> None:
    """Each tax at its rate, rounded once over the invoice and split over its categories, and all taxes' sum."""
    ledger.section("Taxes", "each rounded once, then split cumulatively")
    options, keys = ledger.rows.options, []
    before: dict[str, list[TaxRule]] = {}  # tax -> its categories above
    for tax in ledger.rows.customer_taxes:
        if f"base {tax.category}" not in ledger.named:
            continue
        key = f"tax {tax.name} {tax.category}"
        keys.append(key)

        def amount(index: int, tax: TaxRule = tax, above: tuple[TaxRule, ...] = tuple(before.get(tax.name, ()))) -> str:
            upto = "+".join(
                f"{ledger.here(f'base {each.category}', index)}*{inputs.taxes[each.name, each.category]}"
                for each in (*above, tax))
            less = "".join(f"-{ledger.here(f'tax {each.name} {each.category}', index)}" for each in above)
            return ledger.rounded(f"{ledger.rounded(upto)}{less}") if above else ledger.rounded(upto)

        before.setdefault(tax.name, []).append(tax)
        label = f"{tax.name} on {'everything' if tax.category == ALL else tax.category}"
        ledger.line(
            key, label, f"{show_rate(tax.rate)} when built", amount, [_tax_of(option, tax) for option in options]
        )
    ledger.total(
        "tax", "All taxes", "", lambda index: ledger.sum(keys, index), [option.totals.tax for option in options]
    )


def _tax_of(option: PricedOption, tax: TaxRule) -> Decimal:
    category = "all" if tax.category == ALL else tax.category
    found = [amount.amount for amount in option.totals.taxes if (amount.name, amount.category) == (tax.name, category)]
    return sum(found, ZERO) if found else r2(ZERO)


def write_line_taxes(ledger: Ledger, lines: TaxLines) -> None:
    """The same where each line's tax is rounded by itself: every sum comes from the sheet Tax lines."""
    keys = {**ledger.rows.categories, LABOUR: LABOUR_KEY, FREIGHT: None, ALL: None}
    options, written = ledger.rows.options, []
    ledger.section("Taxes", "sums of the sheet Tax lines")
    for tax in ledger.rows.customer_taxes:
        if tax.category not in keys:
            continue
        key = f"tax {tax.name} {tax.category}"
        written.append(key)

        def amount(index: int, tax: TaxRule = tax) -> str:
            sums = []
            if tax.category != FREIGHT:
                sums.append(lines.sum(lines.tax(index, tax.name, freight=False), keys[tax.category]))
            if tax.category in (FREIGHT, ALL):
                sums.append(lines.sum(lines.tax(index, tax.name, freight=True), None))
            return ledger.rounded("+".join(sums))

        label = f"{tax.name} on {'everything' if tax.category == ALL else tax.category}"
        ledger.line(
            key, label, f"{show_rate(tax.rate)} when built", amount, [_tax_of(option, tax) for option in options]
        )
    ledger.total(
        "tax", "All taxes", "", lambda index: ledger.sum(written, index), [option.totals.tax for option in options]
    )
