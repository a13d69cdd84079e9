from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ('jobs', '0022_finding_days'),
    ]

    operations = [
        migrations.AddField(
            model_name='notice',
            name='needed',
            field=models.BooleanField(default=True, editable=False),
        ),
    ]
