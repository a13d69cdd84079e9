from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ('jobs', '0019_zones_go_with_their_job'),
    ]

    operations = [
        migrations.AddField(
            model_name='activity',
            name='hired',
            field=models.BooleanField(default=False),
        ),
        migrations.AddField(
            model_name='plan',
            name='lacks',
            field=models.JSONField(blank=True, default=dict),
        ),
    ]
