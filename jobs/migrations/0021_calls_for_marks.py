from django.db import migrations


class Migration(migrations.Migration):
    dependencies = [
        ('jobs', '0020_nobody'),
    ]

    operations = [
        migrations.RemoveField(model_name='notice', name='kind'),
    ]
