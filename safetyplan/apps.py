"""Registers the system checks, the guards and the record kinds of the plan side."""

from django.apps import AppConfig
from django.db.models.signals import post_migrate


class SafetyPlanConfig(AppConfig):
    """The plan, the establishments and the ledger."""

    name = "safetyplan"

    def ready(self) -> None:
        """Declare kinds and checks once the models are there."""
        import safetyplan.establishments.kinds
        import safetyplan.plans.kinds  # noqa: F401
        from safetyplan import system_checks  # noqa: F401
        from safetyplan.integrity import guards

        post_migrate.connect(guards.after_migrate, dispatch_uid="guards")
