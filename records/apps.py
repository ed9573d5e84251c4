"""Registers the record kinds."""

from django.apps import AppConfig
from django.db.models.signals import post_migrate


class RecordsConfig(AppConfig):
    """The records: lots, checks, deviations, sign-off, prints."""

    name = "records"

    def ready(self) -> None:
        """Declare the kinds once the models are there."""
        import records.batches.kinds
        import records.checks.kinds
        import records.deviations.kinds
        import records.inspection.kinds
        import records.instruments.kinds
        import records.links.kinds
        import records.photos.kinds
        import records.receiving.kinds
        import records.signoff.kinds
        import records.things.kinds  # noqa: F401
        from records.checks import corrections
        from records.deviations import index as deviation_index
        from records.signoff import index as lot_index
        from safetyplan.integrity import index

        for build in (deviation_index.build, lot_index.build, corrections.build):
            if build not in index.builders:
                index.builders.append(build)
        post_migrate.connect(index.after_migrate, sender=self, dispatch_uid="open items")
