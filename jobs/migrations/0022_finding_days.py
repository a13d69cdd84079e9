from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ('jobs', '0021_calls_for_marks'),
    ]

    operations = [
        migrations.AddField(
            model_name='company',
            name='finding_days',
            field=models.PositiveSmallIntegerField(default=5),
        ),
    ]
