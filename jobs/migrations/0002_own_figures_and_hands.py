"""Own figures of a job, works split in two, rules lifted by hand, and pauses with a beginning."""

import django.core.validators
import django.db.models.deletion
from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [("jobs", "0001_initial")]

    operations = [
        migrations.AddField("libraryversion", "files", models.JSONField(default=dict, editable=False)),
        migrations.AddField("job", "paused_from", models.DateField(blank=True, null=True)),
        migrations.AddField(
            "job", "own", models.JSONField(blank=True, default=list, editable=False)
        ),
        migrations.AddField(
            "activity",
            "part_of",
            models.ForeignKey(
                blank=True,
                null=True,
                on_delete=django.db.models.deletion.CASCADE,
                related_name="parts",
                to="jobs.activity",
            ),
        ),
        migrations.AddField(
            "activity",
            "share",
            models.PositiveSmallIntegerField(
                default=100,
                validators=[
                    django.core.validators.MinValueValidator(1),
                    django.core.validators.MaxValueValidator(100),
                ],
            ),
        ),
        migrations.AddField("link", "lifted", models.BooleanField(default=False)),
        migrations.AddField("link", "reason", models.CharField(blank=True, max_length=200)),
        migrations.AddField("link", "by", models.CharField(blank=True, max_length=120)),
        migrations.AddConstraint(
            "activity",
            models.CheckConstraint(
                condition=models.Q(share__gte=1, share__lte=100),
                name="activity_share_is_a_percentage",
            ),
        ),
        migrations.AddConstraint(
            "link",
            models.CheckConstraint(
                condition=models.Q(lifted=False) | ~models.Q(reason=""),
                name="lifted_for_a_reason",
            ),
        ),
        migrations.RemoveConstraint("override", "one_override_per_path"),
        migrations.AddConstraint(
            "override",
            models.UniqueConstraint(
                fields=("job", "path"), name="one_override_per_job_and_path"
            ),
        ),
        migrations.AddConstraint(
            "override",
            models.UniqueConstraint(
                condition=models.Q(("job", None)),
                fields=("path",),
                name="one_override_of_the_company_per_path",
            ),
        ),
    ]
