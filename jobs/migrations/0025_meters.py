from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ('jobs', '0024_what_plans_tell'),
    ]

    operations = [
        migrations.AlterField(
            model_name='company',
            name='units',
            field=models.CharField(
                choices=[
                    ('us', 'feet, inches, pounds'),
                    ('metric', 'meters, millimeters, kilograms'),
                ],
                default='us',
                max_length=8,
            ),
        ),
    ]
