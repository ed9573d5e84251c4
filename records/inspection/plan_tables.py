"""The tables of hazards and controls of a plan, in the order of columns that regulators' model forms have."""

from collections.abc import Mapping, Sequence

from django.utils.translation import gettext as _

from records.inspection.plan_words import (
    actions_words,
    control_name,
    controlled_words,
    effect_words,
    group_words,
    kind_words,
    lines,
    or_dash,
    products_of,
    step_words,
    yes_no,
)
from safetyplan.plans.decision_tree import RESULTS, TREES, walk
from safetyplan.plans.described import ControlWords, control_words
from safetyplan.plans.measure_words import measure_type_words
from safetyplan.plans.parts import Determination, Hazard, Plan
from safetyplan.printing.document import Cell, Column, Grid, Row
from safetyplan.words import sentence_case

SIZE = 7.5


def table(columns: Sequence[Column], rows: Sequence[Sequence[str]], *, size: float = SIZE) -> Grid:
    """Make a ruled grid of plain texts, the first column strong; an empty text is a dash."""
    cells = (
        tuple(Cell(or_dash(text), strong=number == 0) for number, text in enumerate(row)) for row in rows
    )
    return Grid(tuple(columns), tuple(Row(row) for row in cells), ruled=True, size=size)


def in_order(plan: Plan) -> list[Hazard]:
    """Give the hazards in the order of the steps; those of the whole site last."""
    places: dict[str, int] = {}
    for product in plan.products:
        for step in product.steps:
            places.setdefault(step.code, len(places))
    last = len(places)
    return sorted(plan.hazards, key=lambda hazard: places.get(hazard.step, last + (not hazard.step)))


def _step_cell(plan: Plan, hazard: Hazard) -> str:
    found = products_of(plan, hazard.products)
    every = len(found) == len(plan.products)
    products = "" if every else ", ".join(product.code for product in found)
    return lines(step_words(plan, hazard.products, hazard.step), products)


def hazard_grid(plan: Plan) -> Grid:
    """Give the worksheet of the hazard analysis."""
    columns = (
        Column(_("Step or ingredient"), share=13, again=True),
        Column(_("Hazard: biological, chemical, physical, radiological; introduced, increased, controlled"),
               share=20, again=True),
        Column(_("Significant?"), _("yes or no"), share=9),
        Column(_("Justification: severity, likelihood, reason"), share=32),
        Column(_("Control measure and its type"), share=24),
        Column(_("CCP?"), _("yes or no, and where it is controlled"), share=20),
    )  # fmt: skip
    return table(columns, [_hazard_row(plan, hazard) for hazard in in_order(plan)])


def _hazard_row(plan: Plan, hazard: Hazard) -> tuple[str, ...]:
    kind = kind_words(hazard.kind)
    if hazard.group:
        kind = f"{kind}: {group_words(hazard.group)}"
    return (
        _step_cell(plan, hazard),
        lines(f"{hazard.code} {hazard.name}", kind, effect_words(hazard.effect)),
        _("YES") if hazard.significant else _("no"),
        lines(
            _("Severity: %(words)s") % {"words": hazard.severity} if hazard.severity else "",
            _("Likelihood: %(words)s") % {"words": hazard.likelihood} if hazard.likelihood else "",
            _("Reason: %(words)s") % {"words": hazard.reason} if hazard.reason else "",
            _("Source: %(words)s") % {"words": hazard.source} if hazard.source else "",
        ),
        _measure(plan, hazard),
        controlled_words(plan, hazard) if hazard.significant or hazard.controlled_by else "",
    )


def _measure(plan: Plan, hazard: Hazard) -> str:
    reheating = ""
    if hazard.significant:
        removed = hazard.removed_by_reheating
        reheating = _("removed by heating again") if removed else _("not removed by heating again")
    return lines(hazard.measure, measure_type_words(plan, hazard.measure_type), reheating)


def determination_grid(plan: Plan) -> Grid:
    """Give how each significant hazard was walked through a decision tree, with every answer."""
    columns = (
        Column(_("Step"), share=14, again=True),
        Column(_("Hazard"), share=18, again=True),
        Column(_("Decision tree"), share=17),
        Column(_("Questions and answers"), share=44),
        Column(_("Result of the tree"), share=22),
        Column(_("Choice in this plan, and why it differs"), share=24),
    )
    chosen = [hazard for hazard in in_order(plan) if hazard.significant or hazard.determination]
    return table(columns, [_determination_row(plan, hazard) for hazard in chosen])


def _determination_row(plan: Plan, hazard: Hazard) -> tuple[str, ...]:
    start = (_step_cell(plan, hazard), f"{hazard.code} {hazard.name}")
    choice = controlled_words(plan, hazard)
    found = hazard.determination
    if found is None:
        return (*start, _("none"), _("Not walked through a decision tree."), "", choice)
    tree = TREES[found.tree]
    reason = _("Why: %(words)s") % {"words": found.reason} if found.reason else ""
    return (*start, lines(str(tree.name), tree.source), *_walked(found), lines(choice, reason))


def _walked(found: Determination) -> tuple[str, str]:
    """Write every question met with its answer, and what the tree gives."""
    walked = walk(TREES[found.tree], found.answers)
    said = []
    for question in walked.asked:
        answer = found.answers.get(question.code)
        word = yes_no(answer == "yes").upper() if answer else _("not answered")
        said.append(f"{question.code.replace('_', ' ').upper()} {question.text} {word}")
    said += [
        _("%(question)s was answered and is not on this way.") % {"question": code.upper()}
        for code in walked.unused
    ]
    result = str(RESULTS[walked.result]) if walked.result else _("No result: a question is open.")
    return "\n".join(said), result


def control_grid(plan: Plan, rank: str, confirmed: Mapping[str, str]) -> Grid:
    """Give the controls of one class; `confirmed`: what is said of each one's figures, by its code."""
    first = {"ccp": _("Critical control point"), "oprp": _("Operational prerequisite")}
    columns = (
        Column(first.get(rank, _("Prerequisite")), share=11.5, again=True),
        Column(_("Hazard"), share=12.5),
        Column(_("Critical limit") if rank == "ccp" else _("Limit"), share=24),
        Column(_("Monitoring: what"), share=11.5),
        Column(_("Monitoring: how"), share=12),
        Column(_("Monitoring: frequency"), share=12.5),
        Column(_("Monitoring: who"), share=10.5),
        Column(_("Corrective action"), share=17),
        Column(_("Verification"), share=14),
        Column(_("Records"), share=12),
    )
    controls = [control for control in plan.controls if control.rank == rank]
    rows = [_control_row(plan, control_words(plan, c), confirmed.get(c.code, "")) for c in controls]
    return table(columns, rows, size=7.2)


def _control_row(plan: Plan, words: ControlWords, confirmed: str) -> tuple[str, ...]:
    control = words.control
    step = step_words(plan, control.products, control.step) if control.step else ""
    without = _("No limit: a value outside the target asks for action.")
    why = _("Why: %(words)s") % {"words": control.justification} if control.justification else ""
    return (
        lines(control_name(control), ", ".join(control.products), step),
        "\n".join(f"{hazard.code} {hazard.name}" for hazard in words.hazards),
        lines("\n".join(words.limits) or without, why, sentence_case(confirmed)),
        control.what,
        lines(control.how, control.instrument),
        "\n".join(words.when),
        control.who,
        actions_words(control),
        lines(control.verification, *_verified_by(plan, control.code)),
        lines(control.record, *words.recorded),
    )


def _verified_by(plan: Plan, code: str) -> list[str]:
    return [f"{v.code} {v.name}, {v.how_often}" for v in plan.verifications if code in v.controls]
