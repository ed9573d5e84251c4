"""A migration that changes a column of every guarded table, as a later version might."""

from typing import Any

from django.db import models
from django.db.migrations.operations import AlterField

from tests.safetyplan.integrity.every_kind import MODELS

MODULE = """
from django.db import migrations
from tests.safetyplan.integrity.rebuild import operations

class Migration(migrations.Migration):
    dependencies = [({app!r}, {last!r})]
    operations = operations({app!r})
"""


def widened(model: type[models.Model]) -> tuple[Any, Any]:
    """Give a text column of a model as it is, and one character wider."""
    field: Any = next(f for f in model._meta.concrete_fields if isinstance(f, models.CharField))
    wider = field.clone()
    wider.max_length = field.max_length + 1
    return field, wider


def operations(app: str) -> list[AlterField]:
    """Widen one column of every guarded table of an app."""
    chosen = [(model, *widened(model)) for model in MODELS if model._meta.app_label == app]
    return [
        AlterField(model_name=model._meta.model_name, name=field.name, field=wider)
        for model, field, wider in chosen
    ]
