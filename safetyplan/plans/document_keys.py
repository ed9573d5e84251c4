"""What the plan document of form 2 may hold: every key, by the object it stands in. Pure.

`fixtures/reference/plan.schema.json` says the same for those who write such a file elsewhere.
"""

import re

SCHEMA = 2
CLOCK = re.compile(r"([01][0-9]|2[0-3]):[0-5][0-9]")
SHA256 = re.compile(r"([0-9a-f]{64})?")
DECIMAL = re.compile(r"([0-9]{1,10}(\.[0-9]{1,6})?)?")

PRODUCT_TEXTS = [
    "description",
    "milk",
    "storage",
    "label",
    "family",
    "use",
    "consumers",
    "ingredients",
    "packaging",
    "distribution",
    "keeps_by",
    "shelf_life_evidence",
]
HAZARD_TEXTS = ["controlled_by", "agent", "severity", "likelihood", "measure", "controlled_step", "source"]
CONTROL_TEXTS = [
    "step",
    "verification",
    "record",
    "resolution",
    "justification",
    "figure_source",
    "parameter",
    "before_event",
]

KEYS = {
    "plan": "schema title form_number language late_after_minutes release_role profile products hazards "
    "controls prerequisites verifications validations recall positive_action",
    "product": "code name description milk shelf_life_days storage label events steps family use consumers "
    "ingredients packaging distribution keeps_by allergens treatment exposed rich shelf_life_evidence",
    "event": "code name expected_within_hours details repeats every_minutes after_event after_minutes",
    "detail": "name label entry quantity unit required options of",
    "step": "code name inputs kind next note",
    "hazard": "code products step kind name significant reason removed_by_reheating controlled_by group "
    "agent effect severity likelihood measure measure_type where controlled_step source determination",
    "determination": "tree answers reason",
    "control": "code class name products step limit monitoring corrective_actions measure_next_minutes "
    "verification record resolution justification figure_source provenance parameter "
    "before_event points recording overdue_instrument photo",
    "monitoring": "what how who instrument when",
    "when": "kind event after_minutes window_before_minutes window_after_minutes days times each",
    "action": "code text",
    "open": "kind prompt sources suggests",
    "prerequisite": "code name text how_often who record attention",
    "verification": "code kind name how how_often controls who record",
    "validation": "code kind text controls reference file file_name valid_until",
    "profile": "code read_on parameters",
    "parameter": "code value unit note citation provenance reason",
    "recall": "responsible consignees public effectiveness disposal",
    "positive_action": "product environment",
}
