"""What may be typed on the command line: the commands, their words and what help says of them."""

from __future__ import annotations

import argparse
import datetime
from pathlib import Path


def parser() -> argparse.ArgumentParser:
    """Every command with its words. What was chosen holds the command's name as `command`."""
    whole = argparse.ArgumentParser(
        prog="quoting", description="A room-and-zone workbook in; a priced quote in three options out.",
        epilog="Exit status: 0 fine (warnings included), 1 something must be corrected first, 2 wrong command line.")
    commands = whole.add_subparsers(title="commands", metavar="COMMAND")
    blank = _command(commands, "blank", "write an empty intake workbook", catalog=True)
    blank.add_argument("out", type=Path, metavar="OUT.xlsx", help="where to write it; an existing file is not replaced")
    check = _command(commands, "check", "read a filled-in workbook and list every problem and default",
                     catalog=True, date=True)
    check.add_argument("job", type=Path, metavar="JOB.xlsx", help="the filled-in workbook; it is never written to")
    check.add_argument("--mark", type=Path, metavar="OUT.xlsx", help="also write a copy with the problem cells marked")
    build = _command(commands, "build", "quote a filled-in workbook and write all documents",
                     catalog=True, date=True)
    build.add_argument("job", type=Path, metavar="JOB.xlsx", help="the filled-in workbook")
    build.add_argument("--out", type=Path, required=True, metavar="DIR",
                       help="folder of the documents; an earlier build in it is replaced whole")
    build.add_argument("--pdf", action="store_true",
                       help="also print customer/proposal.pdf, with a Chromium, Chrome or Edge that is installed")
    build.add_argument("--customer-workbook", action="store_true",
                       help="also write customer/proposal.xlsx: what the proposal says, as values")
    build.add_argument("--accept", default="", metavar="OPTION",
                       help="the option that the customer chose: crew/ is written for it (default: a draft of each)")
    build.add_argument("--stock", type=Path, metavar="FILE.csv",
                       help="what is on hand (part, on_hand, bin, spools): taken off what is bought, not off the price")
    build.add_argument("--labels", default="", metavar="NAME",
                       help="the sheet of cable labels to lay out for, by its name in label_sheets.csv")
    explain = _command(commands, "explain", "say why a line or a fact is there", catalog=True, date=True)
    explain.add_argument("job", type=Path, metavar="JOB.xlsx", help="the filled-in workbook")
    explain.add_argument("id", metavar="ID", help="a line (part/room/phase) or a fact (KIT-S1, 103211, Z3, AMP-1)")
    _compare_command(commands)
    _rules_commands(commands)
    return whole


def _compare_command(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    compare = _command(commands, "compare", "say what changed between two quotes of one job, and write a change order",
                       catalog=True, date=True)
    for side, said in (("old", "the quote that was agreed"), ("new", "the quote that takes its place")):
        compare.add_argument(side, type=Path, metavar=side.upper(),
                             help=f"{said}: a folder that build wrote, or a workbook")
    compare.add_argument("--out", type=Path, required=True, metavar="DIR", help="folder of the two papers")
    compare.add_argument("--option", metavar="NAME", help="the option that was agreed (default: the one that OLD was "
                         "built to accept)")
    compare.add_argument("--reason", choices=("customer", "site", "design", "builder", "vendor"),
                         help="why; left open on the paper where not said")
    compare.add_argument("--requested-by", default="", metavar="NAME", help="who asked for it")
    compare.add_argument("--stock", type=Path, metavar="FILE.csv", help="what is on hand, for a side that is a "
                         "workbook: as the build that was agreed was given it")


def _rules_commands(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    rules = commands.add_parser("rules", help="check the tables, or take them to a workbook and back")
    kinds = rules.add_subparsers(title="commands", metavar="COMMAND", required=True)
    check = _command(kinds, "check", "review every table and run cases.csv", date=True, of="rules ")
    check.add_argument("folder", type=Path, nargs="?", metavar="CATALOG", help="catalogue folder (default: the demo)")
    out = _command(kinds, "to-workbook", "write the catalogue as one workbook, a sheet a table", of="rules ")
    out.add_argument("folder", type=Path, nargs="?", metavar="CATALOG", help="catalogue folder (default: the demo)")
    out.add_argument("--out", type=Path, required=True, metavar="OUT.xlsx", help="where to write it")
    back = _command(kinds, "from-workbook", "write an edited workbook back as a catalogue folder", of="rules ")
    back.add_argument("workbook", type=Path, metavar="IN.xlsx", help="the edited workbook")
    back.add_argument("folder", type=Path, metavar="CATALOG", help="catalogue folder to write")


def _command(
    commands: argparse._SubParsersAction[argparse.ArgumentParser], name: str, says: str, *, catalog: bool = False,
    date: bool = False, of: str = "",
) -> argparse.ArgumentParser:
    command = commands.add_parser(name, help=says, description=says[0].upper() + says[1:] + ".")
    command.set_defaults(command=f"{of}{name}")
    command.add_argument("--json", action="store_true", help="print problems as JSON")
    if catalog:
        command.add_argument("--catalog", type=Path, metavar="DIR", help="catalogue folder (default: the demo)")
    if date:
        command.add_argument("--date", type=_date, metavar="YYYY-MM-DD",
                             help="the pricing date (default: the job's quote date, else today)")
    return command


def _date(text: str) -> datetime.date:
    try:
        return datetime.date.fromisoformat(text)
    except ValueError:
        raise argparse.ArgumentTypeError(f"'{text}' is not a date; write it as 2026-11-25") from None
