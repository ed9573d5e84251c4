"""Who may ask what: a row for each address and way of asking. An address without a row fails the test."""

from dataclasses import dataclass

MEMBERS = {"inspector", "maker", "reviewer", "owner"}
WRITERS = {"maker", "reviewer", "owner"}
EVERYBODY = ("nobody", "stranger", "inspector", "maker", "reviewer", "owner")


@dataclass(frozen=True)
class Row:
    """An address, how it is asked, and who may."""

    name: str
    method: str
    may: frozenset[str]


def row(name: str, method: str, may: set[str]) -> Row:
    """Make a row."""
    return Row(name, method, frozenset(may))


# screens of the plan's editor: everybody of the dairy reads them, a qualified individual writes
EDITED = {
    "plan_begin": [],
    "plan_text": [],
    "plan_product_add": [],
    "plan_product": ["TF"],
    "plan_product_remove": ["TF"],
    "plan_steps": ["TF"],
    "plan_step_add": ["TF"],
    "plan_step": ["TF", "heat"],
    "plan_step_remove": ["TF", "heat"],
    "plan_events": ["TF"],
    "plan_event_add": ["TF"],
    "plan_event": ["TF", "packed"],
    "plan_event_remove": ["TF", "packed"],
    "plan_hazard_add": [],
    "plan_hazard": ["H1"],
    "plan_hazard_remove": ["H1"],
    "plan_determination": ["H1"],
    "plan_control_add": [],
    "plan_control": ["CCP1"],
    "plan_control_remove": ["CCP1"],
    "plan_limit": ["CCP2"],
    "plan_prerequisite_add": [],
    "plan_prerequisite": ["PR-PEST"],
    "plan_prerequisite_remove": ["PR-PEST"],
    "plan_verification_add": [],
    "plan_verification": ["V2"],
    "plan_verification_remove": ["V2"],
    "plan_validation_add": [],
    "plan_validation": ["W1"],
    "plan_validation_remove": ["W1"],
    "plan_recall": [],
    "plan_positive": [],
    "plan_parameter": ["review_days"],
    "plan_profile_change": [],
}
# what an address must be told before it answers at all
SENT = {
    "plan_profile_change": {"to": "eu", "read_on": "2026-11-25"},
    "seals_between": {"first": "1", "second": "2"},
    "lot_find": {"code": "TF-0514"},
}
# pages with one form each: who may send it may see it
ASKED_AT_THE_DOOR = {
    **{key: {"maker"} for key in ("milk_new", "load_correct", "load_void", "lot_milk", "lot_milk_correct")},
    **dict.fromkeys(("load_refuse", "refusal_correct", "load_authority", "authority_change"), WRITERS),
    **dict.fromkeys(("supplier_new", "supplier_change", "herd_new", "herd_change"), WRITERS),
    **dict.fromkeys(("certificate_new", "certificate_change", "treated_new", "treated_change"), WRITERS),
    **dict.fromkeys(("ingredient_new", "ingredient_correct", "ingredient_end"), WRITERS),
    **{key: {"owner"} for key in ("supplier_approve", "treated_end")},
}
# pages of the plan that everybody of the dairy reads
READ = (
    "plan_version plan_draft plan_products plan_hazards plan_controls plan_programmes "
    "plan_profile plan_confirm plan_evidence plan_export plan_version_export plan_compare "
    "plan_draft_read plan_duties"
)
TABLE = [
    *(row(name, "GET", MEMBERS) for name in READ.split()),
    row("today", "GET", MEMBERS),
    row("lots", "GET", MEMBERS),
    row("lot", "GET", MEMBERS),
    row("reading", "GET", MEMBERS),
    row("photo", "GET", MEMBERS),
    row("lot_find", "GET", MEMBERS),
    row("scan", "POST", WRITERS),
    row("day", "GET", MEMBERS),
    row("week", "GET", MEMBERS),
    row("visit", "GET", MEMBERS),
    row("visit", "POST", MEMBERS),
    row("verifier", "GET", MEMBERS),
    row("deviations", "GET", MEMBERS),
    row("deviation", "GET", MEMBERS),
    row("file", "GET", MEMBERS),
    row("plan", "GET", MEMBERS),
    row("print_file", "GET", MEMBERS),
    row("seal_note", "GET", MEMBERS),
    row("instruments", "GET", MEMBERS),
    row("instrument", "GET", MEMBERS),
    row("instrument_new", "GET", WRITERS),
    row("instrument_change", "GET", WRITERS),
    row("instrument_check", "GET", WRITERS),
    row("instrument_check_shown", "GET", MEMBERS),
    row("instrument_check_correct", "GET", WRITERS),
    row("things", "GET", MEMBERS),
    row("thing", "GET", MEMBERS),
    row("thing_new", "GET", WRITERS),
    row("thing_new", "POST", WRITERS),
    row("thing_task", "GET", WRITERS),
    row("thing_task", "POST", WRITERS),
    row("thing_out", "GET", WRITERS),
    row("thing_out", "POST", WRITERS),
    row("thing_void", "GET", WRITERS),
    row("thing_void", "POST", WRITERS),
    row("thing_correct", "GET", WRITERS),
    row("thing_correct", "POST", WRITERS),
    row("round_now", "GET", {"maker"}),
    row("round", "GET", MEMBERS),
    row("round_void", "POST", {"maker"}),
    row("paper_sheets", "GET", {"maker"}),
    row("paper_sheets", "POST", {"maker"}),
    row("paper_sheet", "GET", {"maker"}),
    row("paper_sheet", "POST", {"maker"}),
    row("paper_photo", "GET", MEMBERS),
    row("people", "GET", MEMBERS),
    row("details", "GET", MEMBERS),
    row("capture", "GET", {"maker"}),
    row("lot_event", "GET", {"maker"}),
    row("reading_correct", "GET", {"maker"}),
    row("reading_void", "GET", {"maker"}),
    row("event_correct", "GET", {"maker"}),
    row("event_void", "GET", {"maker"}),
    row("event_void", "POST", {"maker"}),
    row("lot_make", "GET", MEMBERS),
    row("additions", "GET", MEMBERS),
    row("lot_links", "GET", {"maker", "owner"}),
    row("lot_links", "POST", {"maker", "owner"}),
    row("link_change", "GET", {"maker", "owner"}),
    row("link_change", "POST", {"maker", "owner"}),
    row("lot_new", "GET", {"maker"}),
    row("check_explain", "GET", WRITERS),
    row("deviation_new", "GET", WRITERS),
    row("person_add", "GET", {"owner"}),
    row("person", "GET", MEMBERS),
    row("reading_void", "POST", {"maker"}),
    row("lot_new", "POST", {"maker"}),
    row("check_explain", "POST", WRITERS),
    row("deviation_new", "POST", WRITERS),
    row("person_add", "POST", {"owner"}),
    row("person", "POST", {"owner"}),
    row("details", "POST", {"owner"}),
    row("plan_approve", "POST", {"owner"}),
    row("plan_revise", "POST", {"owner"}),
    row("training_add", "POST", {"owner"}),
    row("credential_revoke", "POST", {"maker", "owner"}),
    row("instrument_new", "POST", WRITERS),
    row("instrument_change", "POST", WRITERS),
    row("instrument_retire", "POST", WRITERS),
    row("instrument_use", "POST", WRITERS),
    row("instrument_check", "POST", WRITERS),
    row("instrument_check_correct", "POST", WRITERS),
    row("enrol", "POST", {"maker"}),
    row("lot_release", "POST", {"owner"}),
    row("lot_dispatch", "POST", {"maker", "owner"}),
    row("lot_left_on_hold", "POST", {"maker", "owner"}),
    row("day_sign", "POST", {"reviewer", "owner"}),
    row("day_no_production", "POST", WRITERS),
    row("day_production_undo", "POST", WRITERS),
    row("series", "GET", {"maker"}),
    row("print_issue", "POST", WRITERS),
    row("export", "POST", MEMBERS),
    row("deviation_lot", "POST", WRITERS),
    row("deviation_hold", "POST", WRITERS),
    row("deviation_action", "POST", WRITERS),
    row("deviation_attach", "POST", WRITERS),
    row("calculators", "GET", MEMBERS),
    row("calculator", "GET", MEMBERS),
    row("calculator", "POST", MEMBERS),
    row("calculation_attach", "POST", WRITERS),
    row("deviation_cause", "POST", WRITERS),
    row("deviation_evaluate", "POST", {"owner"}),
    row("deviation_dispose", "POST", {"owner"}),
    row("deviation_recall", "POST", {"owner"}),
    row("deviation_close", "POST", {"reviewer", "owner"}),
    row("plan_trigger", "POST", WRITERS),
    row("plan_duty_sign", "POST", {"owner"}),
    row("plan_apply", "GET", {"owner"}),
    row("plan_apply", "POST", {"owner"}),
    row("plan_print", "POST", WRITERS),
    row("plan_blank_sheet", "POST", WRITERS),
    row("plan_parameter_back", "POST", {"owner"}),
    row("plan_confirm_figure", "POST", {"owner"}),
    row("plan_confirm_targets", "POST", {"owner"}),
    row("plan_confirm_flow", "POST", {"owner"}),
    row("bundle", "GET", {"maker"}),
    row("kept_page", "GET", {"maker"}),
    row("manifest", "GET", MEMBERS),
    row("device", "GET", MEMBERS),
    row("device_import", "GET", WRITERS),
    row("device_import", "POST", WRITERS),
    row("seals_between", "GET", MEMBERS),
    row("seals_alarm", "POST", MEMBERS),
    *(row(name, method, may) for name in EDITED for method, may in (("GET", MEMBERS), ("POST", {"owner"}))),
]
TABLE += [row(name, "GET", MEMBERS) for name in ("receiving", "load", "suppliers", "supplier", "ingredients")]
TABLE += [row(name, "GET", MEMBERS) for name in ("ingredient", "certificate_file", "ingredient_file")]
TABLE += [row("correction", "GET", MEMBERS), row("correction", "POST", WRITERS)]
TABLE += [row(name, "GET", {"maker"}) for name in ("milk_choose", "load_next")]
TABLE += [row(name, how, may) for name, may in ASKED_AT_THE_DOOR.items() for how in ("GET", "POST")]
