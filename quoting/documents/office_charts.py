"""The two charts of the sheet Summary: price against cost by option, and hours by phase."""

from __future__ import annotations

from typing import Any

from quoting.documents.office_look import HEAD, INK, QUIET, RULE
from quoting.documents.office_rows import OfficeRows
from quoting.documents.sheet_writer import Sheet

SHADES = ("#22303C", "#3F5D75", "#5F87A3", "#8CB0C6", "#B7CFDD", "#D9C48F", "#C9CFD4")  # a phase each
HEIGHT = 320  # pixels


def write_charts(
    sheet: Sheet,
    rows: OfficeRows,
    names: tuple[int, int, int],
    price_and_cost: tuple[int, int],
    phases: tuple[int, int],
    at: tuple[int, int],
    width: int,
) -> None:
    """Two native charts side by side: `names` is the row and columns of the options' names, `at` the row of both and
    the column of the second one, `width` how many pixels each has."""
    size = {"width": width, "height": HEIGHT, "object_position": 1}
    head, first, last = names
    categories = [sheet.name, head, first, head, last]
    money = sheet.book.workbook.add_chart({"type": "column"})
    colours = (rows.quote.firm.accent, "#A9B4BE")
    for label, row, colour in zip(("Total less tax", "Cost"), price_and_cost, colours, strict=True):
        money.add_series(_series(label, categories, [sheet.name, row, first, row, last], colour, 80))
    _plain(money, f"Total less tax, and cost ({rows.quote.pricing.currency})", "#,##0")
    sheet.worksheet.insert_chart(at[0], 0, money, size)
    hours = sheet.book.workbook.add_chart({"type": "bar", "subtype": "stacked"})
    for number, row in enumerate(range(phases[0], phases[1] + 1)):
        values = [sheet.name, row, at[1] + 1, row, at[1] + 1 + last - first]
        hours.add_series(_series([sheet.name, row, at[1]], categories, values, SHADES[number % len(SHADES)], 60))
    _plain(hours, "Hours by phase", "0")
    sheet.worksheet.insert_chart(at[0], at[1], hours, size)


def _series(name: str | list[Any], categories: list[Any], values: list[Any], colour: str, gap: int) -> dict[str, Any]:
    return {
        "name": name,
        "categories": categories,
        "values": values,
        "gap": gap,
        "fill": {"color": colour},
        "border": {"none": True},
    }


def _plain(chart: Any, title: str, number_format: str) -> None:
    quiet = {"color": QUIET, "size": 10}
    chart.set_title({"name": title, "name_font": {"size": 11, "bold": True, "color": INK}, "overlay": False})
    chart.set_legend({"position": "bottom", "font": quiet})
    chart.set_chartarea({"border": {"color": RULE}})
    lines = {"visible": True, "line": {"color": HEAD}}
    chart.set_x_axis({"num_font": quiet, "line": {"color": RULE}, "major_gridlines": {"visible": False}})
    chart.set_y_axis({"num_font": quiet, "num_format": number_format, "line": {"none": True}, "major_gridlines": lines})
