from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [("safetyplan", "0001_initial")]

    operations = [
        migrations.CreateModel(
            name="SignInTry",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("username", models.CharField(max_length=60, unique=True)),
                ("failed", models.PositiveIntegerField()),
                ("last_at", models.DateTimeField()),
            ],
        ),
    ]
