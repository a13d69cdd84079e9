from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [("jobs", "0015_unmeasured_ways")]

    operations = [
        migrations.AddField(
            model_name="plan",
            name="untidy",
            field=models.JSONField(blank=True, default=dict),
        ),
        migrations.AddField(
            model_name="plan",
            name="untidy_before",
            field=models.JSONField(blank=True, default=dict),
        ),
        migrations.AddField(
            model_name="plan",
            name="keeps_day",
            field=models.DateField(blank=True, null=True),
        ),
    ]
