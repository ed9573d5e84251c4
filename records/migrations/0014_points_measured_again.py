"""No table changes, but what puts a point right does: after this the list of open items is made anew."""

from django.db import migrations


class Migration(migrations.Migration):
    dependencies = [("records", "0013_rounds_and_paper")]

    operations: list[migrations.operations.base.Operation] = []
