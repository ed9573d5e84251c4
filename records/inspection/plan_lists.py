"""The lists of a plan on paper: products, versions, figures, profile, prerequisites, verification."""

from collections.abc import Sequence

from django.utils.translation import gettext as _

from records.inspection.frame import Frame
from records.inspection.plan_tables import table
from records.inspection.plan_words import (
    control_name,
    family_words,
    lines,
    treatment_words,
    validation_kind_words,
    verification_words,
    yes_no,
)
from safetyplan.plans.changes import Change
from safetyplan.plans.confirmations import Given, figure_given, given_words, validation_words
from safetyplan.plans.described import control_words
from safetyplan.plans.event_words import detail_words, usual_words
from safetyplan.plans.figures import figures, parameter_words, provenance_words
from safetyplan.plans.flow_diagram import controls_at, step_number
from safetyplan.plans.models import PlanApproved
from safetyplan.plans.parts import Parameter, Plan, Product
from safetyplan.plans.plan_check import Finding
from safetyplan.printing.document import Column, Grid
from safetyplan.printing.flow_scene import kind_word
from safetyplan.reference.profiles import PARAMETERS


def named(pairs: Sequence[tuple[str, str]]) -> Grid:
    """Give names and their texts, one pair to a line, however long."""
    return table(
        (Column(_("What"), share=24, again=True), Column(_("In this plan"), share=76)), pairs, size=8
    )


def product_grid(product: Product) -> Grid:
    """Give the description of a product."""
    life = _("%(days)d days") % {"days": product.shelf_life_days} if product.shelf_life_days else ""
    milk = lines(product.milk, treatment_words(product.treatment), _("richer milk") if product.rich else "")
    return named(
        (
            (_("Product code"), product.code),
            (_("Product name"), product.name),
            (_("Family"), family_words(product.family)),
            (_("Description"), product.description),
            (_("What makes it keep: pH, water activity, salt"), product.keeps_by),
            (_("Milk and its treatment"), milk),
            (_("Ingredients"), product.ingredients),
            (_("Allergens"), ", ".join(product.allergens)),
            (_("Packaging"), product.packaging),
            (_("Intended use"), product.use),
            (_("Intended consumers"), product.consumers),
            (_("Open to the room after its treatment and eaten as it is"), yes_no(product.exposed)),
            (_("Shelf life"), lines(life, product.shelf_life_evidence)),
            (_("Words on the label"), product.label),
            (_("Storage"), product.storage),
            (_("Distribution"), product.distribution),
        )
    )


def step_grid(plan: Plan, product: Product) -> Grid:
    """Give the steps of a product as a list, the diagram in words."""
    columns = (
        Column(_("No."), share=6, align="right"),
        Column(_("Step"), share=26),
        Column(_("Kind"), share=13),
        Column(_("What goes in"), share=22),
        Column(_("Goes on to"), share=11),
        Column(_("Controls"), share=13),
        Column(_("Notes"), share=25),
    )
    rows = [
        (
            str(number),
            step.name,
            kind_word(step.kind),
            "\n".join(step.inputs),
            ", ".join(step_number(product, code) for code in product.follows(step)),
            "\n".join(control.code for control in controls_at(plan, product, step)),
            step.note,
        )
        for number, step in enumerate(product.steps, start=1)
    ]
    return table(columns, rows, size=8)


def event_grid(product: Product) -> Grid:
    """Give what is recorded with its time while a lot is made, when it is usual, and what is asked then."""
    columns = (
        Column(_("Event"), share=25),
        Column(_("When it usually happens"), share=30),
        Column(_("What is asked"), share=45),
    )
    rows = [
        (event.name, lines(*usual_words(product, event)), lines(*map(detail_words, event.details)))
        for event in product.events
    ]
    return table(columns, rows, size=8)


def version_grid(frame: Frame, versions: Sequence[PlanApproved]) -> Grid:
    """Give the change log: every version the issue sees, newest first."""
    columns = (
        Column(_("Version"), share=9),
        Column(_("In force from"), share=17),
        Column(_("Reason for the change"), share=36),
        Column(_("Prepared or overseen by"), share=19),
        Column(_("Approved by, on"), share=21),
    )
    rows = [
        (
            str(version.number),
            frame.time(version.in_force_from),
            version.reason,
            frame.name(version.prepared_by_id),
            lines(version.signed_name, frame.time(version.recorded_at)),
        )
        for version in versions
    ]
    return table(columns, rows, size=8)


def change_grid(changes: Sequence[Change]) -> Grid:
    """Give what changed since the version before, each change in one sentence."""
    columns = (Column(_("No."), share=6, align="right"), Column(_("What changed"), share=94))
    rows = [(str(number), change.sentence()) for number, change in enumerate(changes, start=1)]
    return table(columns, rows, size=8)


def finding_grid(findings: Sequence[Finding]) -> Grid:
    """Give the warnings that were accepted with the approval."""
    columns = (Column(_("Rule"), share=9), Column(_("Where"), share=21), Column(_("Warning"), share=70))
    return table(columns, [(f.id, f.where, f.message) for f in findings], size=8)


def target_grid(plan: Plan) -> Grid:
    """Give the operating targets, the tolerances and the limits that the one signature confirms."""
    columns = (
        Column(_("Control"), share=22, again=True),
        Column(_("Operating target"), share=34),
        Column(_("Tolerance of the instrument"), share=28),
        Column(_("Limit"), share=36),
    )
    found = [control_words(plan, control) for control in plan.controls]
    rows = [
        (
            control_name(words.control),
            "\n".join(words.targets),
            "\n".join(words.tolerances),
            "\n".join(words.limits),
        )
        for words in found
    ]
    return table(columns, rows)


def figure_grid(frame: Frame, plan: Plan, given: Sequence[Given]) -> Grid:
    """Give every figure that is confirmed one by one: its source, who confirmed it, what validates it."""
    today = frame.day(frame.issue.recorded_at)
    columns = (
        Column(_("Figure"), share=20, again=True),
        Column(_("Value"), share=28),
        Column(_("Source named in the plan"), share=26),
        Column(_("Confirmed, and validated or not"), share=36),
    )
    rows = []
    for figure in figures(plan):
        found = figure_given(given, figure)
        said = given_words(found) if found else _("figures not confirmed")
        if figure.is_limit:
            control = plan.control(figure.what.removeprefix("limit:"))
            evidence = plan.validations_of(control) if control else ()
            said = f"{said}, {validation_words(evidence, today)}"
        source = lines(figure.source, provenance_words(figure.provenance))
        rows.append((figure.name, "\n".join(figure.words), source, said))
    return table(columns, rows)


def profile_grid(parameters: Sequence[Parameter]) -> Grid:
    """Give the figures of the regulatory profile as the plan uses them; a changed one says why."""
    columns = (
        Column(_("Figure of the profile"), share=24, again=True),
        Column(_("Value"), share=18),
        Column(_("Note"), share=30),
        Column(_("Citation"), share=28),
        Column(_("Where it comes from"), share=16),
        Column(_("Changed here, because"), share=20),
    )
    rows = [
        (
            str(PARAMETERS.get(parameter.code, parameter.code)),
            parameter_words(parameter) or _("no text fixes it"),
            parameter.note,
            parameter.citation,
            provenance_words(parameter.provenance),
            parameter.reason,
        )
        for parameter in parameters
    ]
    return table(columns, rows)


def prerequisite_grid(plan: Plan) -> Grid:
    """Give the prerequisite programmes."""
    columns = (
        Column(_("Programme"), share=20, again=True),
        Column(_("What is done"), share=46),
        Column(_("How often"), share=16),
        Column(_("Who"), share=12),
        Column(_("Record"), share=14),
        Column(_("Needs greater attention"), share=11),
    )
    rows = [
        (f"{p.code} {p.name}", p.text, p.how_often, p.who, p.record, yes_no(p.attention))
        for p in plan.prerequisites
    ]
    return table(columns, rows)


def verification_grid(plan: Plan) -> Grid:
    """Give the schedule of verification."""
    columns = (
        Column(_("Activity"), share=22, again=True),
        Column(_("Kind"), share=15),
        Column(_("How"), share=36),
        Column(_("How often"), share=15),
        Column(_("Who"), share=12),
        Column(_("Verifies"), share=12),
        Column(_("Record"), share=14),
    )
    rows = [
        (
            f"{v.code} {v.name}",
            verification_words(v.kind),
            v.how,
            v.how_often,
            v.who,
            ", ".join(v.controls) or _("the whole plan"),
            v.record,
        )
        for v in plan.verifications
    ]
    return table(columns, rows)


def validation_grid(frame: Frame, plan: Plan, kept: frozenset[str]) -> Grid:
    """Give the evidence attached to controls; `kept`: the SHA-256 of the files kept here."""
    today = frame.day(frame.issue.recorded_at).isoformat()
    columns = (
        Column(_("Evidence"), share=14, again=True),
        Column(_("For the controls"), share=13),
        Column(_("What it shows"), share=38),
        Column(_("Reference"), share=24),
        Column(_("Valid until"), share=14),
        Column(_("File"), share=24),
    )
    rows = []
    for v in plan.validations:
        expired = bool(v.valid_until) and v.valid_until < today
        until = lines(v.valid_until or _("no end stated"), _("EXPIRED") if expired else "")
        file = _("file kept here") if v.file in kept else _("file NOT kept here")
        shown = lines(v.file_name, v.file, file) if v.file else ""
        start = (f"{v.code} {validation_kind_words(v.kind)}", ", ".join(v.controls))
        rows.append((*start, v.text, v.reference, until, shown))
    return table(columns, rows)
