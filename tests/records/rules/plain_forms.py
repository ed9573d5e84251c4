"""Every plain form that records something, with what a person would type into it.

A form is taken from its page as a browser takes it (hidden fields, what is chosen beforehand), then `typed`
is put over it: "*" takes the first thing there is to choose, a name that ends in _ stands for every field
that begins so. `page` is the address on which a form stands where that is another one than it is sent to.
"""

from dataclasses import dataclass, field
from html.parser import HTMLParser

from tests.cast import PASSWORD

WHY = {"reason": "Written down wrongly"}
SIGNED = {"password": PASSWORD}


@dataclass(frozen=True)
class Plain:
    """A form: the name of its address, who sends it, what is typed, and the page it stands on.

    task: the last part of the address. query: what follows it. file: the field of a file that is chosen.
    """

    name: str
    typed: dict[str, str] = field(default_factory=dict)
    who: str = "maker"
    page: str = ""
    task: str = ""
    query: str = ""
    file: str = ""

    def __str__(self) -> str:
        return f"{self.name}-{self.task}" if self.task else self.name


NEW_MILK = {
    "code": "M-9",
    "species": "goat",
    "volume": "100",
    "milking_1_date": "2026-05-14",
    "milking_1": "09:00",
    "treated_": "kept_out",
}
TREATED = {
    "herd": "*",
    "animal": "No. 14",
    "drug": "Antibiotic",
    "dose_date": "2026-05-14",
    "dose_time": "08:00",
    "out_date": "2026-05-18",
    "out_time": "08:00",
}
SALT = {"what_1": "Salt", "amount_1": "40", "unit_1": "kg"}
CAUSE = {
    "cause": "The wrong roll",
    "prevention": "One roll at the bench",
    "under_control": "The next label was right",
    "reanalysis": "no",
    "reanalysis_reason": "The plan foresees it",
}
FORMS = (
    # receiving
    Plain("milk_new", NEW_MILK),
    Plain("load_correct", {"volume": "221", **WHY}),
    Plain("load_void", WHY),
    Plain("load_refuse", {"volume": "10", "outcome": "returned", "why": "Dirty can"}),
    Plain("refusal_correct", {"volume": "21", **WHY}),
    Plain("load_authority", {"authority": "Authority", "legal_basis": "The plan"}),
    Plain("authority_change", {"reference": "No. 7", **WHY}),
    Plain("lot_milk", {"load": "*", "volume": "10"}),
    Plain("lot_milk_correct", {"volume": "90", **WHY}),
    Plain("supplier_new", {"name": "Low Farm"}),
    Plain("supplier_change", {"name": "Hill Farm and Sons", **WHY}),
    Plain("herd_new", {"name": "The ewes", "species": "sheep"}),
    Plain("herd_change", {"name": "The white goats", **WHY}),
    Plain("supplier_approve", {"status": "suspended", "why": "Dirty cans"}, "owner"),
    Plain("certificate_new", {"name": "Tuberculosis", "valid_until": "2027-02-01"}, file="file"),
    Plain("certificate_change", {"reference": "BR 2", **WHY}),
    Plain("treated_new", TREATED),
    Plain("treated_change", {"drug": "Another", **WHY}),
    Plain("treated_end", WHY, "owner"),
    Plain("ingredient_new", {"kind": "culture", "name": "Culture", "code": "K 9"}, file="file"),
    Plain("ingredient_correct", {"storage": "Fridge 2", **WHY}),
    Plain("ingredient_end", {"how": "used_up"}),
    Plain("correction", {"text": "Door closed"}),
    # shared things
    Plain("thing_new", {"kind": "brine", "code": "B7", "name": "The seventh brine", **SALT}),
    Plain("thing_task", {"what": "salt", "amount": "2", "unit": "kg"}, task="change"),
    Plain("thing_task", {"how": "dumped", "why": "Cloudy", "became": "Poured away"}, task="end"),
    Plain("thing_task", {"name": "The big brine", **WHY}, task="correct"),
    Plain("thing_task", {"lot_": "*", "note": "Second side"}, task="use"),
    Plain("thing_out"),
    Plain("thing_void", WHY),
    Plain("thing_correct", WHY),
    # lots
    Plain("lot_new", {"product": "TF", "code": "TF-9", "vat": "Vat 2", "milk": "100"}),
    Plain("event_void", WHY),
    Plain("lot_links", {"other": "*", "kind": "whey", "quantity": "1", "known": "*"}),
    Plain("link_change", {**WHY, "known": "*"}),
    # checks, rounds, paper
    Plain("reading_void", WHY),
    Plain("check_explain", WHY),
    Plain("round_void", WHY, page="round"),
    Plain("paper_sheets", {"number": "14-1", "day": "2026-05-14"}, file="file"),
    Plain("paper_sheet", {"v_strength_0": "200", "time_0": "09:10", "who_0": "mk"}),
    # instruments
    Plain(
        "instrument_new", {"code": "P-7", "name": "Probe 7", "quantity": "temperature", "tolerance": "0.5"}
    ),
    Plain("instrument_change", {"name": "The long probe", **WHY}),
    Plain("instrument_retire", {"reason": "It fell into the vat"}, page="instrument"),
    Plain("instrument_check", {"found_1_shown": "0.1"}, query="?method=ice_point"),
    Plain("instrument_check_correct", WHY),
    # the day, what leaves
    Plain("day_no_production", {"why": "Nobody milks today"}, page="day"),
    Plain("day_sign", {"note": "Looked through", **SIGNED}, "owner", "day"),
    Plain(
        "lot_left_on_hold", {"customer": "Shop", "pieces": "2", "mass": "1", "note": "By mistake"}, page="lot"
    ),
    # deviations
    Plain("deviation_new", {"description": "A window was broken"}),
    Plain("deviation_hold", {"place": "Shelf 9", "tag": "7", "pieces": "10", "mass": "5"}, page="deviation"),
    Plain("deviation_action", page="deviation"),
    Plain("deviation_cause", CAUSE, page="deviation"),
    Plain("deviation_lot", {"lot": "*", "why": "The same roll"}, page="deviation"),
    Plain("deviation_evaluate", {"text": "Safe", "evidence": "The label"}, "owner", "deviation"),
    Plain("deviation_attach", file="file", page="deviation"),
)

BY_NAME = {str(form): form for form in FORMS}
# Rows 25 and 26: every date with a time of day that is typed into a form.
TIMES = [
    *((name, "on_date", "on_time") for name in ("milk_new", "load_correct", "load_refuse", "ingredient_new")),
    *((name, "on_date", "on_time") for name in ("refusal_correct", "ingredient_correct", "ingredient_end")),
    *((name, "on_date", "on_time") for name in ("thing_new", "thing_out", "lot_new", "lot_links")),
    *((f"thing_task-{task}", "on_date", "on_time") for task in ("change", "end", "correct", "use")),
    *((name, "on_date", "on_time") for name in ("correction", "instrument_check", "lot_left_on_hold")),
    ("thing_correct", "on_date", "on_time"),
    ("thing_correct", "until_date", "until_time"),
    ("milk_new", "milking_1_date", "milking_1"),
    ("treated_new", "dose_date", "dose_time"),
    ("treated_new", "out_date", "out_time"),
    ("load_authority", "deadline_date", "deadline_time"),
    ("load_authority", "informed_date", "informed_time"),
    ("deviation_hold", "done_date", "done_time"),
]
# Every number that is typed into a form, with a text in another unit of its quantity ("" where it has none).
NUMBERS = [
    ("milk_new", "volume", "100 gal"),
    ("load_correct", "volume", "100 gal"),
    ("load_refuse", "volume", "2 gal"),
    ("lot_milk", "volume", "2 gal"),
    ("ingredient_new", "quantity", "2 lb"),
    ("thing_new", "amount_1", "2 lb"),
    ("thing_task-change", "amount", "2 lb"),
    ("lot_new", "milk", "100 gal"),
    ("lot_links", "quantity", "2 gal"),
    ("deviation_hold", "mass", "2 lb"),
    ("lot_left_on_hold", "mass", "2 lb"),
    ("instrument_new", "tolerance", ""),
    ("instrument_check", "found_1_shown", "33 °F"),
]
# Rows of the table as they meet a number: what is typed, always refused where it stands.
REFUSED = {
    5: ("NaN", "-Infinity"),
    6: ("1e3", "1e309"),
    7: ("1_000", "½"),
    8: ("４.２", "O.5"),
    10: ("1.234,5", "1 234,5"),
    12: ("-300",),
    15: ("--", "+"),
    17: ("999999999", "12345678901234567890"),
    66: ("<script>",),
    84: ("About: 4.2",),
}


class Reader(HTMLParser):
    """Reads the fields of one form of a page, as a browser sends them."""

    def __init__(self, action: str, here: str) -> None:
        super().__init__()
        self.action, self.here = action, here
        self.fields: dict[str, str] = {}
        self.inside = self.found = False
        self.select = self.area = ""
        self.choices: dict[str, list[str]] = {}
        self.texts: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        """Take a control of the form."""
        told = {name: value or "" for name, value in attrs}
        if tag == "form":
            action = told.get("action", "").split("#")[0] or self.here
            self.inside = not self.found and told.get("method") == "post" and action == self.action
            self.found = self.found or self.inside
        if not self.inside or ("disabled" in told):
            return
        name = told.get("name", "")
        if tag == "input" and name and told.get("type") not in ("checkbox", "radio", "submit", "file"):
            self.fields[name] = told.get("value", "")
            if told.get("type", "text") == "text":
                self.texts.append(name)
        elif tag == "input" and name and told.get("type") in ("checkbox", "radio"):
            self.choices.setdefault(name, []).append(told.get("value", "on"))
            self.fields |= {name: told.get("value", "on")} if "checked" in told else {}
        elif tag == "select":
            self.select = name
        elif tag == "option" and self.select:
            self.choices.setdefault(self.select, []).append(told.get("value", ""))
            if "selected" in told or self.select not in self.fields:
                self.fields[self.select] = told.get("value", "")
        elif tag == "textarea":
            self.area, self.fields[name] = name, ""
            self.texts.append(name)

    def handle_data(self, data: str) -> None:
        """Take the text of a text area."""
        if self.area:
            self.fields[self.area] += data.removeprefix("\n")

    def handle_endtag(self, tag: str) -> None:
        """Leave what was entered."""
        self.area = "" if tag == "textarea" else self.area
        self.select = "" if tag == "select" else self.select
        self.inside = self.inside and tag != "form"


def read(html: str, action: str, here: str) -> Reader:
    """Read the form of a page that is sent to an address."""
    reader = Reader(action, here)
    reader.feed(html)
    assert reader.found, f"no form on {here} is sent to {action}"
    return reader


def filled(reader: Reader, typed: dict[str, str]) -> dict[str, str]:
    """Give the fields of a form, filled in."""
    known = {*reader.fields, *reader.choices}
    for key, text in typed.items():
        names = [name for name in known if name.startswith(key)] if key.endswith("_") else [key]
        assert set(names) <= known, f"{key} is none of {sorted(known)}"
        for name in names:
            reader.fields[name] = next(filter(None, reader.choices[name])) if text == "*" else text
    return reader.fields
