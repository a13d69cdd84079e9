from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ('jobs', '0020_nobody'),
    ]

    operations = [
        # A default, so that it can be put back into a table with rows.
        migrations.AlterField(
            model_name='notice',
            name='kind',
            field=models.CharField(
                choices=[('locate', 'Locate'), ('inspection', 'Inspection'), ('permit', 'Permit')],
                default='locate',
                max_length=12,
            ),
        ),
        migrations.RemoveField(model_name='notice', name='kind'),
    ]
