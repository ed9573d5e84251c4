"""The facts of each part of a plan that two versions are compared by. Pure."""

from dataclasses import dataclass
from typing import Any

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from safetyplan.plans import parts
from safetyplan.plans.change_codes import code_words
from safetyplan.plans.change_fact import (
    Fact,
    coded_fact,
    limit_fact,
    listed_fact,
    step_name,
    text_fact,
    yes_no_fact,
)
from safetyplan.plans.decision_tree import TREES
from safetyplan.plans.described import duration_words, gate_words, rank_words, when_words
from safetyplan.plans.document import Control, Detail, Event, Hazard, Plan, Product, Step
from safetyplan.plans.event_words import followed_name
from safetyplan.plans.figures import parameter_words, provenance_words
from safetyplan.reference.profiles import PARAMETERS, profiles


def of_control(plan: Plan, control: Control, other: Control) -> list[Fact]:
    """Give the facts of a control, its limit beside that of the other version."""
    kept = {action.code for action in actions_of(other)}
    order = tuple(action.code for action in actions_of(control) if action.code in kept)
    return [
        Fact(_("class"), control.rank, rank_words(control.rank)),
        text_fact(_("name"), control.name),
        listed_fact(_("products"), control.products),
        Fact(_("step"), control.step, step_name(plan, control.products, control.step)),
        limit_fact(control, other),
        text_fact(_("thing measured"), control.what),
        text_fact(_("method"), control.how),
        text_fact(_("person who measures"), control.who),
        text_fact(_("instrument"), control.instrument),
        text_fact(_("smallest step the instrument shows"), control.resolution),
        Fact(_("time of the check"), control.when, when_words(plan, control)),
        Fact(_("order of the corrective actions"), order, ", ".join(order)),
        Fact(
            _("time to the next measurement"),
            control.measure_next_minutes,
            duration_words(control.measure_next_minutes),
        ),
        text_fact(_("verification"), control.verification),
        text_fact(_("record"), control.record),
        text_fact(_("justification of the limit"), control.justification),
        text_fact(_("source of the figure"), control.figure_source),
        Fact(_("provenance of the figure"), control.provenance, _provenance(control.provenance)),
        Fact(_("figure of the profile it answers to"), control.parameter, parameter_name(control.parameter)),
        Fact(_("event it must come before"), control.before_event, _event(plan, control)),
        listed_fact(_("points measured"), control.points),
        coded_fact(_("way of recording"), control.recording),
        coded_fact(_("rule for an overdue instrument"), control.overdue_instrument),
        coded_fact(_("photo"), control.photo),
    ]


def _event(plan: Plan, control: Control) -> str:
    return gate_words(plan, control) if control.before_event else ""


@dataclass(frozen=True)
class Action:
    """One corrective action of a control; its code tells it apart."""

    code: str
    text: str


def actions_of(control: Control) -> list[Action]:
    """Give the corrective actions; a code that stands there again is numbered, so that none is lost."""
    found: list[Action] = []
    for code, text in control.corrective_actions:
        again = sum(1 for before, _text in control.corrective_actions[: len(found)] if before == code)
        found.append(Action(f"{code} ({again + 1})" if again else code, text))
    return found


def of_action(plan: Plan, action: Action, other: Action) -> list[Fact]:
    """Give the facts of a corrective action."""
    return [text_fact(_("text"), action.text)]


def _provenance(code: str) -> str:
    return provenance_words(code) if code else ""


# Hazards -------------------------------------------------------------------------------------------


def gist_of_hazard(plan: Plan, hazard: Hazard) -> str:
    """Say of a hazard that is new or left out what it weighs and what controls it."""
    weight = _("significant") if hazard.significant else _("not significant")
    return "; ".join(filter(None, (weight, _controlled_by(plan, hazard.controlled_by))))


def _controlled_by(plan: Plan, code: str) -> str:
    found = plan.control(code) or plan.prerequisite(code)
    return f"{found.code} {found.name}" if found else code


def _answers(hazard: Hazard) -> list[tuple[str, str, str]]:
    """Give each answered question of the decision tree: its code, its text, the answer."""
    found = hazard.determination
    if found is None:
        return []
    asked = [question for question in TREES[found.tree].questions if question.code in found.answers]
    return [(q.code, str(q.text), found.answers[q.code]) for q in asked]


def _determination(hazard: Hazard, other: Hazard) -> list[Fact]:
    """Give the decision tree, every answer, and the reason for choosing otherwise.

    Of another tree, or where one side has none, the answers are told with the tree, in one.
    """
    found, beside = hazard.determination, other.determination
    if found is None:
        return []
    same = beside is not None and beside.tree == found.tree
    name, answers = str(TREES[found.tree].name), _answers(hazard)
    told = "; ".join([name, *(f"{text} {code_words(answer)}" for _code, text, answer in answers)])
    tree = Fact(_("decision tree"), found.tree, name if same else told)
    reason = text_fact(_("reason for another choice than the tree's"), found.reason)
    if not same:
        return [tree, *([reason] if found.reason else [])]
    return [
        tree,
        *(
            Fact(_("answer to “%(question)s”") % {"question": text}, answer, code_words(answer), key=code)
            for code, text, answer in answers
        ),
        reason,
    ]


def of_hazard(plan: Plan, hazard: Hazard, other: Hazard) -> list[Fact]:
    """Give the facts of a hazard."""
    later = step_name(plan, hazard.products, hazard.controlled_step)
    by = _controlled_by(plan, hazard.controlled_by)
    return [
        text_fact(_("name"), hazard.name),
        coded_fact(_("kind"), hazard.kind),
        coded_fact(_("group"), hazard.group),
        text_fact(_("code in the list of hazards"), hazard.agent),
        listed_fact(_("products"), hazard.products),
        Fact(_("step"), hazard.step, step_name(plan, hazard.products, hazard.step)),
        coded_fact(_("effect at the step"), hazard.effect),
        text_fact(_("severity"), hazard.severity),
        text_fact(_("likelihood"), hazard.likelihood),
        yes_no_fact(_("answer to “significant?”"), value=hazard.significant),
        text_fact(_("reason"), hazard.reason),
        yes_no_fact(_("answer to “removed by reheating?”"), value=hazard.removed_by_reheating),
        text_fact(_("control measure"), hazard.measure),
        coded_fact(_("type of the control measure"), hazard.measure_type),
        coded_fact(_("place of control"), hazard.where),
        Fact(_("later step that controls it"), hazard.controlled_step, later),
        Fact(_("control or programme"), hazard.controlled_by, by),
        text_fact(_("source"), hazard.source),
        *_determination(hazard, other),
    ]


# Products, steps, events ---------------------------------------------------------------------------


def of_product(product: Product) -> list[Fact]:
    """Give the facts of a product, without its steps and events."""
    return [
        text_fact(_("name"), product.name),
        coded_fact(_("family"), product.family),
        text_fact(_("description"), product.description),
        text_fact(_("use"), product.use),
        text_fact(_("group of consumers"), product.consumers),
        text_fact(_("list of ingredients"), product.ingredients),
        listed_fact(_("allergens"), product.allergens),
        text_fact(_("milk"), product.milk),
        coded_fact(_("treatment of the milk"), product.treatment),
        yes_no_fact(
            _("answer to “open to the room after its treatment, and eaten as it is?”"), value=product.exposed
        ),
        yes_no_fact(_("answer to “richer product for heat treatment?”"), value=product.rich),
        text_fact(_("packaging"), product.packaging),
        text_fact(_("property that makes it keep"), product.keeps_by),
        Fact(_("shelf life"), product.shelf_life_days, _days(product.shelf_life_days)),
        text_fact(_("evidence for the shelf life"), product.shelf_life_evidence),
        text_fact(_("storage"), product.storage),
        text_fact(_("distribution"), product.distribution),
        text_fact(_("label"), product.label),
    ]


def _days(days: int) -> str:
    return ngettext("%(n)d day", "%(n)d days", days) % {"n": days}


def orders(old: Product, new: Product) -> tuple[list[Fact], list[Fact]]:
    """Give the order of the steps and of the events that both versions have, as either has it."""
    both = []
    for product in (old, new):
        rows = []
        for name, mine, others in (
            (_("order of the steps"), product.steps, (old.steps, new.steps)),
            (_("order of the events"), product.events, (old.events, new.events)),
        ):
            kept = set.intersection(*({item.code for item in items} for items in others))
            listed: list[Any] = [item for item in mine if item.code in kept]
            codes = tuple(item.code for item in listed)
            rows.append(Fact(name, codes, " → ".join(item.name for item in listed)))
        both.append(rows)
    return both[0], both[1]


def place_of_step(product: Product, step: Step) -> str:
    """Say where in the process a step stands that is new or left out."""
    at = product.steps.index(step)
    if at == 0:
        return _("at the beginning")
    return _("after %(step)s") % {"step": product.steps[at - 1].name}


def of_step(product: Product, step: Step) -> list[Fact]:
    """Give the facts of a step of a product."""
    names = {item.code: item.name for item in product.steps}
    branches = ", ".join(names.get(code, code) for code in step.next)
    return [
        text_fact(_("name"), step.name),
        coded_fact(_("kind"), step.kind),
        listed_fact(_("inputs"), step.inputs),
        Fact(_("steps that follow"), step.next, branches, many=True),
        text_fact(_("note"), step.note),
    ]


def of_event(product: Product, event: Event) -> list[Fact]:
    """Give the facts of an event of a lot of a product."""
    hours = event.expected_within_hours
    followed = followed_name(product, event.after_event) if event.after_event else ""
    return [
        text_fact(_("name"), event.name),
        Fact(_("time within which it is expected"), hours, _("%(hours)d h") % {"hours": hours}),
        Fact(
            _("details to record"),
            event.details,
            "; ".join(_detail(detail) for detail in event.details),
            many=True,
        ),
        yes_no_fact(_("answer to “happens several times?”"), value=event.repeats),
        _minutes(_("usual time between two of it"), event.every_minutes),
        Fact(_("event it usually follows"), event.after_event, followed),
        _minutes(_("usual time after that event"), event.after_minutes),
    ]


def _minutes(label: str, minutes: int) -> Fact:
    return Fact(label, minutes, duration_words(minutes) if minutes else "")


def _detail(detail: Detail) -> str:
    said = [detail.label, detail.name, code_words(detail.entry), detail.quantity, detail.unit]
    said += [code_words(detail.of) if detail.of else "", " / ".join(detail.options)]
    if detail.required:
        said.append(_("required"))
    return ", ".join(filter(None, said))


# The rest ------------------------------------------------------------------------------------------


def of_prerequisite(plan: Plan, item: parts.Prerequisite, other: parts.Prerequisite) -> list[Fact]:
    """Give the facts of a prerequisite programme."""
    return [
        text_fact(_("name"), item.name),
        text_fact(_("text"), item.text),
        text_fact(_("frequency"), item.how_often),
        text_fact(_("person who does it"), item.who),
        text_fact(_("record"), item.record),
        yes_no_fact(_("answer to “needs greater attention?”"), value=item.attention),
    ]


def of_verification(plan: Plan, item: parts.Verification, other: parts.Verification) -> list[Fact]:
    """Give the facts of an activity of verification."""
    return [
        coded_fact(_("kind"), item.kind),
        text_fact(_("name"), item.name),
        text_fact(_("method"), item.how),
        text_fact(_("frequency"), item.how_often),
        listed_fact(_("controls verified"), item.controls),
        text_fact(_("person who does it"), item.who),
        text_fact(_("record"), item.record),
    ]


def of_validation(plan: Plan, item: parts.Validation, other: parts.Validation) -> list[Fact]:
    """Give the facts of a piece of evidence."""
    return [
        coded_fact(_("kind"), item.kind),
        text_fact(_("text"), item.text),
        listed_fact(_("controls it validates"), item.controls),
        text_fact(_("reference"), item.reference),
        text_fact(_("name of the file"), item.file_name),
        text_fact(_("fingerprint of the file (SHA-256)"), item.file),
        text_fact(_("last day of validity"), item.valid_until),
    ]


def parameter_name(code: str) -> str:
    """Name a figure of the regulatory profile."""
    return str(PARAMETERS.get(code, code))


def parameter_value(parameter: parts.Parameter) -> str:
    """Write what a figure of the profile says; its note where it has no value."""
    return parameter_words(parameter) or parameter.note


def of_parameter(parameter: parts.Parameter) -> list[Fact]:
    """Give the facts of a figure of the profile."""
    value = (parameter.value, parameter.unit)
    return [
        Fact(_("value"), value, parameter_words(parameter)),
        text_fact(_("note"), parameter.note),
        text_fact(_("citation"), parameter.citation),
        Fact(_("provenance"), parameter.provenance, _provenance(parameter.provenance)),
        text_fact(_("reason for the change"), parameter.reason),
    ]


def of_profile(plan: Plan) -> list[Fact]:
    """Give which profile a plan follows, and when it was read."""
    profile = plan.profile
    if profile is None:
        return []
    known = profiles().get(profile.code)
    return [
        Fact(_("name"), profile.code, known.name if known else profile.code),
        text_fact(_("date of the reading"), profile.read_on),
    ]


def of_recall(plan: Plan) -> list[Fact]:
    """Give the texts of the recall procedure."""
    return [
        text_fact(_("person who leads it"), plan.recall.responsible),
        text_fact(_("way to tell those who received goods"), plan.recall.consignees),
        text_fact(_("way to tell the public"), plan.recall.public),
        text_fact(_("check of its effectiveness"), plan.recall.effectiveness),
        text_fact(_("disposal of what comes back"), plan.recall.disposal),
    ]


def of_positive(plan: Plan) -> list[Fact]:
    """Give what is done after a positive result."""
    return [
        text_fact(_("action after one in a product"), plan.positive_action.product),
        text_fact(_("action after one in the environment"), plan.positive_action.environment),
    ]


def of_plan(plan: Plan) -> list[Fact]:
    """Give the facts of the plan as a whole."""
    late = plan.late_after_minutes
    return [
        text_fact(_("title"), plan.title),
        text_fact(_("form number"), plan.form_number),
        text_fact(_("language"), plan.language),
        Fact(_("form of the document"), plan.schema, str(plan.schema)),
        Fact(_("time after which a record is late"), late, duration_words(late)),
        coded_fact(_("role that releases"), plan.release_role),
    ]
