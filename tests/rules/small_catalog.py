# ruff: noqa: E501 (tables as they stand in files)
"""A catalogue of a few invented rows, written to a folder; `changes` replaces or adds whole files."""

from __future__ import annotations

import datetime
from pathlib import Path

from quoting.catalog.questions import QUESTIONS
from quoting.catalog.read import read_catalog
from quoting.catalog.records import Catalog
from quoting.problems import Problem
from quoting.rules.book import RuleBook
from quoting.rules.read import read_rules

ON = datetime.date(2026, 9, 15)

PARTS = """\
part,description,words,category,unit,labour_class,gauge_system,supplier,lead_days,leftover,keep,own_markup,discontinued,note
SPK-A,ceiling speaker,a ceiling speaker,speakers,each,fixing,,Invented Supply,5,stock,,,no,
0012,bracket with leading zeros,a bracket,small parts,each,none,,Invented Supply,5,stock,,,no,
CAB-16,16-4 cable,speaker cable,cable,ft,none,AWG,Invented Supply,5,stock,30,,no,
CAB-15,1.5 mm2 cable,speaker cable,cable,m,none,mm2,Invented Supply,5,stock,10,,no,
"""
SPEAKERS = """\
part,mount,size_in,single_stereo,angled,nominal_ohm,sensitivity_db,power_w,coverage_deg,cut_out_mm,cut_out_width_mm,depth_in,bracket,back_box,rated_box,terminal,thickest_awg,damp_class,anchors
SPK-A,ceiling,6.5,no,no,8,89,60,120,200,0,4,0012,,,spring clip,16,damp,0
"""
CABLES = """\
part,conductors,gauge_awg,area_mm2,stranding,rating,diameter_mm,category
CAB-16,4,16,0,stranded,in wall,8,
CAB-15,4,0,1.5,stranded,in wall,8,
"""
PRICES = """\
part,put_up,unit,currency,cost,list,floor,supplier,from_date,costing
SPK-A,1,each,USD,34.00,62.00,46.00,Invented Supply,2026-01-01,yes
SPK-A,1,each,USD,36.00,62.00,46.00,Invented Supply,2026-09-01,yes
SPK-A,1,each,USD,99.00,162.00,46.00,Invented Supply,2027-01-01,yes
0012,10,each,USD,20.00,,,Invented Supply,2026-01-01,yes
CAB-16,500,ft,USD,200.00,,,Invented Supply,2026-01-01,yes
CAB-16,1000,ft,USD,380.00,,,Invented Supply,2026-01-01,no
CAB-15,100,m,USD,90.00,,,Invented Supply,2026-01-01,yes
"""
LABOUR = """\
task,description,unit,role,labour_class,sold,wall_state,low,likely,high,reference
rough.home run,Pull a home run,ft,installer,cabling,yes,open,0.01,0.02,0.03,invented
rough.home run,Pull a home run,ft,installer,cabling,yes,open remodel,0.01,0.02,0.03,invented
rough.home run,Pull a home run,ft,installer,cabling,yes,finished,0.02,0.05,0.09,invented
trim.speaker,Fix a speaker,each,installer,fixing,yes,-,0.2,0.3,0.5,invented
rough.bracket,Fix a bracket,each,installer,fixing,yes,open,0.1,0.2,0.3,invented
"""
OPTIONS = """\
kind,name,gauge_system,good,better,note
setting,title,,Good,Better,
setting,service_years,,1,-,
role,ceiling speaker,,SPK-A,SPK-A,
role,speaker cable 4-conductor,AWG,CAB-16,CAB-16,
role,speaker cable 4-conductor,mm2,CAB-15,CAB-15,
role,streamer,,-,SPK-A,
setting,summary,,Some,More,
setting,gives_up,,Much,Little,
setting,head_end_shape,,controller-amplifier,controller and amplifiers,
setting,streams,,1,2,
setting,spare_zones,,0,1,
setting,phones,,1,2,
setting,rack,,shelf,rack,
setting,ups,,no,yes,
setting,remote_power,,no,yes,
setting,headroom_db,,0,3,
"""
FIRM = """\
key,value,note
name,Invented Audio,
address,1 Sample Lane,
phone,555-0100,
email,office@invented.example,
licence,,
accent,#1f5f8b,
warranty,One year.,
letter,Thank you.,
change_terms,In writing.,
notice,Invented.,
minimum_change,,
cost_basis,burdened,
margin_floor,0.30,
free_discount,0.05,
valid_days,30,
stop_on_old_prices,no,
factor_cap,1.5,
counting_standard,area,
"""
RULES = """\
rule,mount,wall_state,ceiling_height_ft,bracket,add,add_from,quantity,phase,note,reference
SPK-010,,,,,,part,,trim-out,the speaker itself,
SPK-020,,,,not none,,bracket,1,rough-in,the bracket of the speaker chosen,
SPK-030,ceiling,,,,trim.speaker,,1,trim-out,,
SPK-040,,,> 14,,say.ladder,,,,a tall room,
"""
CASES = """\
case,kind,option,fields,gives
A ceiling speaker brings itself and its bracket,speaker,good,part=SPK-A; mount=ceiling; bracket=0012,SPK-A x 1; 0012 x 1; trim.speaker x 1
A surface speaker without a bracket brings itself,speaker,good,part=SPK-A; mount=surface,SPK-A x 1
A tall room is said,speaker,good,part=SPK-A; mount=surface; ceiling_height_ft=15,rule SPK-040
"""
FILES = {
    "parts.csv": PARTS,
    "parts/speakers.csv": SPEAKERS,
    "parts/cables.csv": CABLES,
    "prices.csv": PRICES,
    "sockets.csv": "part,direction,signal,connector,count,note\nSPK-A,in,speaker,spring clip,1,\n",
    "labour.csv": LABOUR,
    "rates.csv": "role,currency,pay,burdened,sold_hour,price,from_date,reference\n"
                 "installer,USD,28,36.40,60.67,115,2026-01-01,invented\n",
    "options.csv": OPTIONS,
    "taxes.csv": "place,tax,category,rate,payer,dwelling_over_years,dwelling_up_to_years,resale_exempt,from_date,reference\n"
                 "Sampletown,sales tax,-,0.05,customer,0,0,no,2026-01-01,invented\n",
    "terms.csv": "place,title,currency,tax_basis,tax_note,deposit_cap_rate,deposit_cap_amount,withdrawal,labour_apart,"
                 "permit,plan,reference\nSampletown,Sampletown (invented),USD,invoice,,,,,no,,standard,invented\n",
    "statements.csv": "code,kind,text,note\nsay.ladder,caution,A tall ladder is used.,\n",
    "factors.csv": "row,factor,labour_class,ceiling_height_ft,occupied,multiplier,reference\n"
                   "FAC-010,ladder,\"fixing, cabling\",> 12,,1.2,invented\n"
                   "FAC-020,occupied,-,,yes,1.4,invented\n",
    "firm.csv": FIRM,
    "rules/speaker.csv": RULES,
    "cases.csv": CASES,
}
_EMPTY_SPECS = ("amplifiers", "controllers", "keypads", "sources", "racks", "leads", "boxes", "tubes")


def write_catalog(folder: Path, changes: dict[str, str] | None = None) -> Path:
    """The small catalogue in a folder of its own. A change to "" leaves the file out."""
    from quoting.catalog.rows import columns_of
    from quoting.catalog.tables import SPECS

    files = {**_standards(), **FILES, **{
        f"parts/{name}.csv": ",".join(columns_of(SPECS[name])) + "\n" for name in _EMPTY_SPECS
    }, **(changes or {})}
    for name, text in files.items():
        if text:
            path = folder / "small" / name
            path.parent.mkdir(parents=True, exist_ok=True)
            path.write_text(text, encoding="utf-8")
    return folder / "small"


def _standards() -> dict[str, str]:
    """Every standard with one row that answers everything with nothing."""
    return {
        f"standards/{name}.csv": f"row,{','.join(question.answers)}\nANY-010{',' * len(question.answers)}\n"
        for name, question in QUESTIONS.items()
    }


def read_small(
    folder: Path, changes: dict[str, str] | None = None, on: datetime.date = ON
) -> tuple[Catalog, tuple[Problem, ...]]:
    """The small catalogue, read; it must be readable."""
    catalog, problems = read_catalog(write_catalog(folder, changes), on)
    assert catalog is not None, [str(problem) for problem in problems]
    return catalog, problems


def read_small_rules(
    folder: Path, changes: dict[str, str] | None = None
) -> tuple[Catalog, RuleBook, tuple[Problem, ...]]:
    """The small catalogue and its rules, with the problems of the rules."""
    catalog, problems = read_small(folder, changes)
    assert problems == (), [str(problem) for problem in problems]
    book, found = read_rules(folder / "small", catalog)
    return catalog, book, found


def codes(problems: tuple[Problem, ...]) -> list[tuple[str, str]]:
    """(cell, code) of each problem, in order."""
    return [(f"{problem.where.file} {problem.where.ref}", problem.code) for problem in problems]
