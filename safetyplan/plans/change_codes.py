"""The words for the codes that stand in a plan document, for telling what changed. Pure."""

from collections.abc import Mapping

from django.utils.functional import Promise
from django.utils.translation import gettext_lazy as _

from safetyplan.words import name_words

WORDS: Mapping[str, Promise] = {
    "yes": _("yes"),
    "no": _("no"),
    "raw": _("raw"),
    "thermised": _("thermised"),
    "pasteurised": _("pasteurised"),
    "start": _("start"),
    "operation": _("operation"),
    "inspection": _("inspection"),
    "storage": _("storage"),
    "transport": _("transport"),
    "end": _("end"),
    "biological": _("biological"),
    "chemical": _("chemical"),
    "physical": _("physical"),
    "radiological": _("radiological"),
    "allergen": _("allergen"),
    "drug_residue": _("drug residue"),
    "toxin": _("toxin"),
    "environmental_pathogen": _("pathogen of the environment"),
    "introduced": _("introduced"),
    "increased": _("increased"),
    "controlled": _("controlled"),
    "process": _("process control"),
    "sanitation": _("sanitation control"),
    "supply_chain": _("supply-chain control"),
    "prerequisite": _("prerequisite programme"),
    "prerequisite_attention": _("prerequisite programme needing greater attention"),
    "this_step": _("this step"),
    "later_step": _("a later step"),
    "records_review": _("review of records"),
    "calibration": _("calibration"),
    "phosphatase": _("phosphatase test"),
    "product_test": _("test of the product"),
    "milk_test": _("test of the milk"),
    "environment": _("test of the environment"),
    "recall_exercise": _("recall exercise"),
    "supplier": _("verification of a supplier"),
    "label_audit": _("audit of labels"),
    "other": _("other"),
    "regulation": _("regulation"),
    "guide": _("guide"),
    "study": _("study"),
    "trial": _("trial"),
    "challenge_study": _("challenge study"),
    "fresh_lactic": _("fresh lactic cheese"),
    "soft_bloomy": _("soft cheese with a bloomy rind"),
    "washed_rind": _("washed-rind cheese"),
    "washed_curd": _("washed-curd cheese"),
    "hard_raw": _("hard aged raw-milk cheese"),
    "blue": _("blue cheese"),
    "brined": _("brined cheese"),
    "whey_cheese": _("whey cheese"),
    "number": _("a number"),
    "text": _("a text"),
    "each_value": _("each value"),
    "by_exception": _("by exception"),
    "warn": _("warn"),
    "block": _("refuse the reading"),
    "asked": _("asked for"),
    "required": _("required"),
    "maker": _("maker"),
    "reviewer": _("reviewer"),
    "qualified": _("qualified individual"),
    "responsible": _("responsible person"),
}


def code_words(code: str) -> str:
    """Give the words for a code; an unknown one with blanks for underscores."""
    known = WORDS.get(code)
    return str(known) if known is not None else name_words(code)
