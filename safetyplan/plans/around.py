"""What stands beside the document of a plan when it is checked: confirmations, files, the day. Pure."""

from dataclasses import dataclass
from datetime import date

from safetyplan.plans.figures import Figure, flow_value, targets_value
from safetyplan.plans.parts import Plan, Product


@dataclass(frozen=True)
class Around:
    """Confirmations as pairs of what was confirmed and the value it then had; files kept; today."""

    confirmed: frozenset[tuple[str, str]] = frozenset()
    targets: frozenset[str] = frozenset()
    flows: frozenset[tuple[str, str]] = frozenset()
    files: frozenset[str] = frozenset()
    today: date | None = None

    def has_confirmed(self, figure: Figure) -> bool:
        """Tell whether somebody confirmed a figure as it now stands."""
        return (figure.what, figure.value) in self.confirmed

    def has_targets(self, plan: Plan) -> bool:
        """Tell whether the table of operating targets was signed as it now stands."""
        return targets_value(plan) in self.targets

    def has_flow(self, product: Product) -> bool:
        """Tell whether the flow of a product was confirmed on site as it now stands."""
        return (product.code, flow_value(product)) in self.flows
