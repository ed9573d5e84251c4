"""What each rule asks, row by row, and what makes a product rich.

Expected figures: 21 CFR 133.3(d) and 1240.61(b), 25 TAC 217.1(68), MCL 288.697, Regulation (EC) 853/2004,
C.R.C. c. 870 B.08.030(1), Food Standards Code 4.2.4, as read in public copies; CXC 57-2004 from memory.
"""

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from safetyplan.calculation.heat_requirement import (
    Product,
    australian_temperature,
    duration_text,
    required_temperature,
    rule_named,
)
from safetyplan.calculation.heat_tables import RULES
from safetyplan.calculation.refusal import Refusal

PLAIN = Product(Decimal("3.9"), Decimal("12.5"))
SEVEN = {"1800": "145", "15": "161", "1.0": "191", "0.5": "194", "0.1": "201", "0.05": "204", "0.01": "212"}
ENHANCED = {
    "1800": "150",
    "15": "166",
    "1.0": "196",
    "0.5": "199",
    "0.1": "206",
    "0.05": "209",
    "0.01": "217",
}
CHEESE = {hold: SEVEN[hold] for hold in ("1800", "15", "1.0", "0.05", "0.01")}
TABLES = {
    "us_cheese": CHEESE,
    "us_milk": SEVEN,
    "us_ordinance": SEVEN,
    "us_michigan": SEVEN,
    "eu_hygiene": {"1800": "63", "15": "72"},
    "gb_hygiene": {"1800": "63", "15": "72"},
    "codex_hygiene": {"1800": "63", "15": "72"},
    "canada_law": {"1800": "61.6", "16": "72"},
    "australia_code": {"15": "72"},
}
ROWS = [(rule, hold, limit) for rule, rows in TABLES.items() for hold, limit in rows.items()]


def asked(rule: str, hold: str = "15", product: Product = PLAIN) -> Decimal:
    return required_temperature(rule, hold_seconds=Decimal(hold), product=product).temperature


@pytest.mark.parametrize(("rule", "hold", "limit"), ROWS)
def test_each_row_stands_in_the_unit_of_its_rule(rule: str, hold: str, limit: str) -> None:
    found = required_temperature(rule, hold_seconds=Decimal(hold), product=PLAIN)
    assert (found.temperature, found.unit) == (Decimal(limit), "degF" if rule[:2] == "us" else "degC")
    assert found.sources[0]
    assert all(found.sources)


def test_no_rule_and_no_row_is_left_out_of_this_check() -> None:
    kept = {(name, format(row.hold_seconds, "f")) for name, rule in RULES.items() for row in rule.rows}
    assert kept == {(rule, hold) for rule, hold, _ in ROWS}


@pytest.mark.parametrize(("hold", "limit"), ENHANCED.items())
def test_the_raised_rows_are_those_michigan_prints(hold: str, limit: str) -> None:
    assert asked("us_michigan", hold, Product(Decimal(10))) == Decimal(limit)


@pytest.mark.parametrize(
    ("rule", "product", "raised"),
    [
        ("us_cheese", Product(Decimal(10)), True),
        ("us_cheese", Product(Decimal("9.99")), False),
        ("us_cheese", Product(Decimal(4), sweetened=True), False),
        ("us_cheese", Product(Decimal(4), Decimal(30), concentrated=True), False),
        ("us_milk", Product(Decimal(10)), True),
        ("us_milk", Product(Decimal(4), sweetened=True), True),
        ("us_milk", Product(Decimal(4), Decimal(18)), False),
        ("us_ordinance", Product(Decimal(4), Decimal(18)), True),
        ("us_ordinance", Product(Decimal(4), Decimal("17.9")), False),
        ("us_ordinance", Product(Decimal(4), Decimal(12), concentrated=True), True),
        ("us_ordinance", Product(Decimal(4), Decimal(12), sweetened=True), True),
        ("us_michigan", Product(Decimal(4), concentrated=True), True),
        ("us_michigan", Product(Decimal(4), Decimal(20)), False),
    ],
)
def test_a_rich_product_is_raised_by_five_fahrenheit_where_the_rule_counts_it(
    rule: str, product: Product, raised: bool
) -> None:
    assert asked(rule, "15", product) == (166 if raised else 161)


def test_a_raise_names_its_reasons_and_its_source() -> None:
    product = Product(Decimal(12), Decimal(22), sweetened=True)
    found = required_temperature("us_ordinance", hold_seconds=Decimal(15), product=product)
    assert found.because == ("vat_fat", "vat_solids", "sweetened")
    assert (found.table_temperature, found.raised_by) == (161, 5)
    assert len(found.sources) == 2


def test_a_raise_beyond_the_rows_marked_in_print_says_so() -> None:
    rich = Product(Decimal(12))
    short = required_temperature("us_milk", hold_seconds=Decimal("0.5"), product=rich)
    assert (short.temperature, [note.code for note in short.notes]) == (199, ["heat_raise_beyond_print"])
    printed = required_temperature("us_milk", hold_seconds=Decimal(15), product=rich)
    assert printed.notes == ()


def test_solids_must_be_known_where_the_rule_counts_them_and_nothing_else_decides() -> None:
    with pytest.raises(Refusal) as caught:
        asked("us_ordinance", "15", Product(Decimal(4)))
    assert (caught.value.sentence.code, caught.value.field) == ("heat_solids_needed", "vat_solids")
    assert asked("us_ordinance", "15", Product(Decimal(12))) == 166


def test_a_rule_that_wants_more_without_a_figure_refuses_a_rich_product() -> None:
    with pytest.raises(Refusal) as caught:
        asked("codex_hygiene", "1800", Product(Decimal(12)))
    assert caught.value.sentence.code == "heat_raise_without_figure"
    assert "CXC 57-2004" in str(caught.value)
    assert asked("codex_hygiene", "1800") == 63


@pytest.mark.parametrize("rule", ["eu_hygiene", "gb_hygiene", "canada_law", "australia_code"])
def test_a_rule_without_a_raise_says_so_for_a_rich_product(rule: str) -> None:
    hold = "16" if rule == "canada_law" else "15"
    rich = required_temperature(rule, hold_seconds=Decimal(hold), product=Product(Decimal(12)))
    assert (rich.temperature, [note.code for note in rich.notes]) == (72, ["heat_no_raise_printed"])


@pytest.mark.parametrize(
    ("rule", "hold", "product", "air"),
    [
        ("us_cheese", "1800", PLAIN, "150"),
        ("us_cheese", "1800", Product(Decimal(12)), "155"),
        ("us_milk", "15", PLAIN, None),
        ("eu_hygiene", "1800", PLAIN, None),
    ],
)
def test_the_air_space_is_five_fahrenheit_above_the_product_in_an_american_vat(
    rule: str, hold: str, product: Product, air: str | None
) -> None:
    """Grade A Pasteurized Milk Ordinance, item 16p, from memory."""
    found = required_temperature(rule, hold_seconds=Decimal(hold), product=product)
    assert found.air_space == (None if air is None else Decimal(air))


@pytest.mark.parametrize("hold", ["20", "0", "-15", "NaN", "Infinity", "14.99"])
def test_a_hold_between_the_rows_is_refused_with_the_rows_and_the_source(hold: str) -> None:
    with pytest.raises(Refusal) as caught:
        asked("eu_hygiene", hold)
    assert caught.value.field == "hold_asked"
    assert "30 min, 15 s" in str(caught.value)
    assert "853/2004" in str(caught.value)


def test_an_unknown_rule_is_refused() -> None:
    with pytest.raises(Refusal) as caught:
        rule_named("new_zealand")
    assert caught.value.field == "heat_rule"
    assert rule_named("us_milk").unit == "degF"


@pytest.mark.parametrize(
    ("fat", "solids", "field"),
    [("-1", None, "vat_fat"), ("101", None, "vat_fat"), ("4", "3.9", "vat_solids"), ("NaN", None, "vat_fat")],
)
def test_shares_that_cannot_be_are_refused(fat: str, solids: str | None, field: str) -> None:
    with pytest.raises(Refusal) as caught:
        asked("us_milk", "15", Product(Decimal(fat), Decimal(solids) if solids else None))
    assert caught.value.field == field
    assert asked("us_milk", "15", Product(Decimal(4), Decimal(4))) == 161


# Australian technical note of January 2013, printed table, °C by seconds
PRINTED = {1: "81.6", 2: "79.0", 4: "76.5", 5: "75.7", 7: "74.6", 10: "73.3", 13: "72.4"}


@pytest.mark.parametrize(("hold", "printed"), PRINTED.items())
def test_the_australian_formula_gives_its_printed_table(hold: int, printed: str) -> None:
    found = australian_temperature(hold_seconds=Decimal(hold), product=PLAIN)
    assert abs(found - Decimal(printed)) <= Decimal("0.055")


@pytest.mark.parametrize("hold", ["0.999", "14.001", "0", "-1", "NaN"])
def test_the_australian_formula_ends_at_its_printed_rows(hold: str) -> None:
    with pytest.raises(Refusal) as caught:
        australian_temperature(hold_seconds=Decimal(hold), product=PLAIN)
    assert all(text in str(caught.value) for text in ("1 s", "14 s", "January 2013"))


@pytest.mark.parametrize(
    "product",
    [
        Product(Decimal(10)),
        Product(Decimal(4), sweetened=True),
        Product(Decimal(4), particles=True),
        Product(Decimal(4), concentrated=True),
    ],
)
def test_the_australian_formula_is_for_plain_milk_only(product: Product) -> None:
    with pytest.raises(Refusal) as caught:
        australian_temperature(hold_seconds=Decimal(5), product=product)
    assert caught.value.sentence.code == "heat_formula_plain_milk"
    assert australian_temperature(hold_seconds=Decimal(5), product=Product(Decimal("9.9"))) > 75


def test_the_australian_holds_are_refused_with_rows_and_formula() -> None:
    with pytest.raises(Refusal) as caught:
        asked("australia_code", "1800")
    assert "15 s, 1-14 s" in str(caught.value)


@given(st.integers(1000, 14000), st.integers(1000, 14000))
def test_a_shorter_australian_hold_needs_more_heat(one: int, other: int) -> None:
    short, long = sorted((one, other))
    heats = [
        australian_temperature(hold_seconds=Decimal(ms).scaleb(-3), product=PLAIN) for ms in (short, long)
    ]
    assert heats[0] >= heats[1] > 71


@given(
    st.sampled_from(sorted(RULES)),
    st.decimals(0, 100, places=2),
    st.none() | st.decimals(0, 100, places=2),
    st.booleans(),
    st.booleans(),
)
def test_a_richer_product_never_needs_less_heat(
    rule: str, fat: Decimal, solids: Decimal | None, sweetened: bool, concentrated: bool
) -> None:
    for row in RULES[rule].rows:
        try:
            found = required_temperature(
                rule,
                hold_seconds=row.hold_seconds,
                product=Product(fat, solids, sweetened, concentrated),
            )
        except Refusal:
            continue
        assert found.temperature - row.temperature in (0, 5)
        assert (found.raised_by > 0) == bool(found.because)


@pytest.mark.parametrize(
    ("seconds", "text"), [("1800", "30 min"), ("15", "15 s"), ("0.05", "0.05 s"), ("90", "90 s")]
)
def test_a_hold_is_written_as_the_rules_print_it(seconds: str, text: str) -> None:
    assert duration_text(Decimal(seconds)) == text
