"""The starter catalogue's cabling figures, and how cable ratings stand in for each other, against cabling standards."""

from __future__ import annotations

import csv
import datetime
from pathlib import Path
from types import SimpleNamespace
from typing import Any, cast

import pytest

from quoting.catalog.read import read_catalog
from quoting.catalog.records import CableSpec, Catalog
from quoting.engineering.brief import Brief
from quoting.engineering.cable_gauge import part_with
from quoting.engineering.conductors import awg_area_mm2

DEMO = Path(__file__).resolve().parents[2] / "catalogs" / "demo"
M_PER_FT = 0.3048


@pytest.fixture(scope="module")
def demo() -> Catalog:
    catalog, problems = read_catalog(DEMO, datetime.date(2026, 10, 1))
    assert catalog is not None, [str(problem) for problem in problems]
    return catalog


def _number(catalog: Catalog, question: str, answer: str, **inputs: Any) -> float:
    return catalog.standards.ask(question, **inputs).number(answer)


# TIA-568 / ISO/IEC 11801: permanent link at most 90 m (295 ft); ISO/IEC 11801-4 asks the same of a home.
def test_structured_cable_may_be_as_long_as_a_permanent_link(demo: Catalog) -> None:
    limit_m = _number(demo, "structured_limit", "limit_m", cable="category")

    assert limit_m == pytest.approx(90)
    assert limit_m / M_PER_FT == pytest.approx(295, abs=0.5)


# Installer guideline to TIA-568 (terousa.com/Telecommunications.html): 12 in (305 mm) of slack at an outlet.
@pytest.mark.parametrize("end", ["input", "network"])
def test_an_outlet_keeps_a_foot_of_slack(demo: Catalog, end: str) -> None:
    assert _number(demo, "slack", "slack_m", end=end, outdoor=False) >= 0.305 - 0.0005


# Installers' text on distributed audio (tymhomes.com; boards.fool.com): 18 in of slack at the control.
def test_a_control_keeps_eighteen_inches_of_slack(demo: Catalog) -> None:
    assert _number(demo, "slack", "slack_m", end="control", outdoor=False) == pytest.approx(18 * 0.0254)


# ANSI/CTA/CEDIA-2030-A as summarised: service loop at least 24 in (610 mm), here at the head end and at speakers.
@pytest.mark.parametrize("end", ["head end", "speaker"])
def test_equipment_keeps_a_service_loop(demo: Catalog, end: str) -> None:
    assert _number(demo, "slack", "slack_m", end=end, outdoor=False) >= 0.610


# CEA-2030 (2005) as reported by the trade press: 16 AWG; the 2011 edition as summarised allows 18 AWG (0.823 mm2).
# The stricter edition holds here.
def test_the_thinnest_speaker_conductor_is_16_awg(demo: Catalog) -> None:
    assert _number(demo, "thinnest_gauge", "area_mm2", gauge_system="AWG") == pytest.approx(awg_area_mm2(16), abs=0.005)


# IEC 60228 has 1 and 1.5 mm2 on either side of 16 AWG (1.31 mm2): never thinner means the larger.
def test_the_thinnest_metric_speaker_conductor_is_the_size_above_16_awg(demo: Catalog) -> None:
    assert _number(demo, "thinnest_gauge", "area_mm2", gauge_system="mm2") == 1.5


# CEA-2030 (2005) as reported: one 4-conductor 16 AWG and one category cable to every control or speaker place.
def test_a_home_run_can_be_a_four_conductor_16_awg_cable(demo: Catalog) -> None:
    thin = demo.cables[demo.parts_for("speaker cable 4-conductor", demo.options[0], "AWG")[0]]

    assert (thin.conductors, thin.gauge_awg) == (4, 16)


def test_a_control_can_get_a_category_cable_of_four_pairs(demo: Catalog) -> None:
    cable = demo.cables[demo.parts_for("category cable", demo.options[0], "AWG")[0]]

    assert (cable.conductors, float(cable.category[:1])) == (8, 6.0)  # Cat 5e or 6 in the 2011 edition


# A published handbook (navalfacilities.tpub.com/1012_3): a pull box holds 1000 ft; in metres 305.
@pytest.mark.parametrize(("system", "currency", "box"), [("AWG", "USD", 1000), ("mm2", "EUR", 305)])
def test_category_cable_comes_in_pull_boxes(demo: Catalog, system: str, currency: str, box: int) -> None:
    part = demo.parts_for("category cable", demo.options[0], system)[0]

    assert box in {int(price.put_up) for price in demo.prices[(part, currency)]}


# The published loudspeaker wire table's rule: loop at most 5 % of the load for good listening; 10 % is 0.83 dB.
@pytest.mark.parametrize(("listening", "limit_rate"), [("foreground", 0.05), ("party", 0.05), ("background", 0.10)])
def test_the_gauge_limit_is_the_five_percent_rule(demo: Catalog, listening: str, limit_rate: float) -> None:
    assert _number(demo, "gauge_limit", "limit_rate", listening=listening) == pytest.approx(limit_rate)


# NFPA 70 (NEC) 210.20(A): a circuit carries 80 % for three hours or more; 20 A at 120 V is 1920 W.
def test_a_rack_circuit_is_loaded_to_80_percent(demo: Catalog) -> None:
    whole_w = _number(demo, "head_end", "value", item="circuit w")

    assert whole_w * _number(demo, "head_end", "value", item="circuit load rate") == pytest.approx(1920)


# TIA-569-C (2012) 9.7: supports at most 1.5 m (5 ft) apart.
def test_cable_supports_stand_no_farther_apart_than_five_feet() -> None:
    with (DEMO / "rules" / "cable_run.csv").open(encoding="utf-8-sig", newline="") as sheet:
        quantities = [row["quantity"] for row in csv.DictReader(sheet) if row["add"] == "cable support"]
    spacings_ft = [float(text.split("/")[1].strip(" )").removesuffix("ft")) for text in quantities if "ft" in text]

    assert spacings_ft
    assert max(spacings_ft) <= 5


# NEC 1996 substitution table (tables 725 and 800): plenum may stand in for riser, riser for general use; never upward.
# Burial cable is listed for none of them.
RATINGS = ("in wall", "riser", "plenum", "burial")
MAY_SERVE = {"in wall": {"in wall", "riser", "plenum"}, "riser": {"riser", "plenum"}, "plenum": {"plenum"},
             "burial": {"burial"}}


def _stock_of(rating: str) -> Brief:
    """A catalogue whose one speaker cable has this rating."""
    cable = CableSpec(part="X", conductors=4, gauge_awg=16, area_mm2=0, stranding="stranded", rating=rating,
                      diameter_mm=8, category="")
    catalog = SimpleNamespace(cables={"X": cable}, parts_for=lambda *_: ("X",))
    return cast("Brief", SimpleNamespace(catalog=catalog, option="good", job=SimpleNamespace(gauge_system="AWG")))


@pytest.mark.parametrize("offered", RATINGS)
@pytest.mark.parametrize("wanted", RATINGS)
def test_a_rating_is_served_only_by_itself_or_a_stricter_one(wanted: str, offered: str) -> None:
    found = part_with(_stock_of(offered), "speaker cable 4-conductor", 0.0, wanted)

    assert bool(found) == (offered in MAY_SERVE[wanted])
