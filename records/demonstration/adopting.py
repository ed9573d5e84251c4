"""A plan of the demonstration brought into force: saved, every figure confirmed, flows walked, approved."""

from records.demonstration.teller import Teller
from safetyplan.plans.confirming import confirm_figure, confirm_flow, confirm_targets
from safetyplan.plans.document import Plan, read_text
from safetyplan.plans.figures import figures, flow_value, targets_value
from safetyplan.plans.services import approve_plan, save_draft

REASON = "First plan"


def adopt(teller: Teller, text: str, walked: str) -> None:
    """Bring a plan into force as the owner; walked: what is said of the walk through its flows."""
    draft = save_draft(establishment=teller.dairy, by=teller.owner, text=text, reason=REASON, revision=None)
    _confirm(teller, read_text(draft.text), walked)
    approve_plan(
        establishment=teller.dairy,
        proof=teller.proof(teller.owner),
        revision=draft.revision,
        reason=REASON,
    )


def _confirm(teller: Teller, plan: Plan, walked: str) -> None:
    """Tell how the owner confirmed every figure on its source, signed the targets and walked the flows."""
    for figure in figures(plan):
        confirm_figure(
            establishment=teller.dairy,
            by=teller.owner,
            what=figure.what,
            value=figure.value,
            source=figure.source[:500],
        )
    confirm_targets(establishment=teller.dairy, proof=teller.proof(teller.owner), value=targets_value(plan))
    for product in plan.products:
        confirm_flow(
            establishment=teller.dairy,
            proof=teller.proof(teller.owner),
            product=product.code,
            value=flow_value(product),
            note=walked,
        )
