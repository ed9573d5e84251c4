"""Every published value of sampling, and both rolling means of one published herd."""

from collections.abc import Callable, Mapping
from decimal import Decimal
from typing import Any

import pytest

from safetyplan.calculation.geometric_mean import (
    CensoredAs,
    Method,
    Month,
    Sample,
    geometric_mean,
    rolling_mean,
)
from safetyplan.calculation.sampling import Count, Plan, judge_results
from safetyplan.calculation.sampling_chances import (
    acceptance_lognormal,
    acceptance_three_class,
    acceptance_two_class,
    detection_probability,
)
from safetyplan.calculation.sampling_tables import CRITERIA, MILK_CRITERIA
from tests.calculation.published import assert_near, rows_of

Inputs = Mapping[str, Any]

CHEESE = {
    "cheese from raw milk": "eu_staph_raw_milk",
    "cheese from milk heated below pasteurisation, or ripened from pasteurised milk": (
        "eu_staph_mild_or_ripened"
    ),
}
ITEMS = {"plate count 30 C": "plate_count", "somatic cells": "somatic_cells"}


def two_class(given: Inputs) -> Decimal:
    return acceptance_two_class(
        n=int(given["n"]), c=int(given["c"]), proportion=given["proportion_defective"]
    )


def three_class(given: Inputs) -> Decimal:
    return acceptance_three_class(
        n=int(given["n"]),
        c=int(given["c"]),
        marginal=given["p_marginal_m_to_M"],
        defective=given["p_defective_above_M"],
    )


def lognormal(given: Inputs) -> Decimal:
    return acceptance_lognormal(
        n=int(given["n"]),
        c=int(given["c"]),
        mean_log10=given["mean_log10"],
        sd_log10=given["sd_log10"],
        log10_m=given["log10_m"],
        log10_upper=given["log10_M"],
    )


def detection(given: Inputs) -> Decimal:
    return detection_probability(n=int(given["n"]), grams=given["unit_g"], cfu_per_g=given["cfu_per_g"])


def verdict(given: Inputs) -> str:
    plan = Plan(int(given["n"]), int(given["c"]), given["m"], given["M"])
    return judge_results(plan, [Count(value) for value in given["results_cfu_g"]]).verdict


def milk_limit(given: Inputs) -> Decimal:
    found = [
        row
        for row in MILK_CRITERIA.values()
        if (row.species, row.item, row.raw_product) == (given["species"], ITEMS[given["item"]], False)
    ]
    assert [(row.months, row.least_per_month) for row in found] == [(given["months"], given["min_per_month"])]
    return found[0].at_most


def cheese_plan(given: Inputs) -> list[Any]:
    found = CRITERIA[CHEESE[given["category"]]]
    assert found.organism.replace("_", "-") == given["item"].replace(" ", "-")
    return [found.plan.n, found.plan.c, found.plan.m, found.plan.upper]


BY_INPUT: Mapping[str, Callable[[Inputs], Any]] = {
    "values": lambda given: geometric_mean(given["values"]),
    "species": milk_limit,
    "proportion_defective": two_class,
    "p_marginal_m_to_M": three_class,
    "mean_log10": lognormal,
    "unit_g": detection,
    "results_cfu_g": verdict,
    "category": cheese_plan,
}


def computed(given: Inputs) -> Any:
    """The value of a row by the function its inputs ask for; a row that asks for none, or two, fails."""
    (key,) = BY_INPUT.keys() & given.keys()
    return BY_INPUT[key](given)


@pytest.mark.parametrize("row", rows_of("sampling"))
def test_a_published_value_is_reproduced(row: dict[str, Any]) -> None:
    assert_near(computed(row["inputs"]), row)


# Irish Veterinary Journal 70 (2017), article 9, table 2 (read at irishvetjournal.biomedcentral.com): somatic
# cells in thousands per ml of three months, each with the seasonal factor of its month; the rolling means of
# the adjusted counts are 270.79 as the mean of the monthly means and 278.51 of all samples together.
IRISH = (
    (1, "0.39", (438, 540, 413, 402, 283, 345)),
    (2, "0.74", (513, 328, 463, 662, 408, 504, 414)),
    (3, "1.00", (659, 555, 394, 407, 288, 226, 287)),
)


@pytest.mark.parametrize(("method", "expected"), [(Method.MONTHLY, "270.79"), (Method.POOLED, "278.51")])
def test_a_published_herd_has_both_its_rolling_means(method: Method, expected: str) -> None:
    samples = [
        Sample(Month(2013, month), Count(value * Decimal(factor)))
        for month, factor, values in IRISH
        for value in values
    ]
    found = rolling_mean(
        samples,
        last=Month(2013, 3),
        months=3,
        least_per_month=1,
        method=method,
        censored_as=CensoredAs.LIMIT,
    )
    assert found.mean is not None
    assert abs(found.mean - Decimal(expected)) < Decimal("0.01")
    # February's mean of the same table
    assert abs(geometric_mean([Decimal(value) for value in IRISH[1][2]]) - Decimal("460.49")) < Decimal(
        "0.01"
    )


# Regulation (EC) No 2073/2005, annex I, as printed in copies of 1441/2007 (bjsy.foodvip.net 223908, 223911),
# and schedule 27 of the Australia New Zealand Food Standards Code.
@pytest.mark.parametrize(
    ("name", "numbers"),
    [
        ("eu_e_coli_heated_milk", (5, 2, 100, 1000)),
        ("eu_staph_fresh", (5, 2, 10, 100)),
        ("eu_listeria_no_growth", (5, 0, 100, None)),
        ("eu_salmonella_mild", (5, 0, None, None)),
        ("anz_e_coli", (5, 1, 10, 100)),
    ],
)
def test_a_criterion_has_the_numbers_of_its_source(name: str, numbers: tuple[int | None, ...]) -> None:
    plan = CRITERIA[name].plan
    assert (plan.n, plan.c, plan.m, plan.upper) == numbers


def test_a_plan_for_presence_says_how_much_of_a_sample_is_tested() -> None:
    assert all((row.grams is None) is not row.plan.is_presence for row in CRITERIA.values())


def test_every_criterion_names_its_source_and_whether_it_was_read() -> None:
    rows = [*CRITERIA.values(), *MILK_CRITERIA.values()]
    assert all(row.source for row in rows)
    assert {name for name, row in CRITERIA.items() if row.provenance == "memory"} == {
        "eu_enterotoxin",
        "anz_listeria_growth",
        "anz_listeria_no_growth",
    }
