from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ('jobs', '0023_calls_that_stay'),
    ]

    operations = [
        # A default, so that it can be put back into a table with rows.
        migrations.AlterField(
            model_name='plan',
            name='finish_bound',
            field=models.PositiveIntegerField(default=0),
        ),
        migrations.RemoveField(model_name='plan', name='finish_bound'),
        migrations.AddField(
            model_name='planrow',
            name='free_finish',
            field=models.DateTimeField(blank=True, null=True),
        ),
    ]
