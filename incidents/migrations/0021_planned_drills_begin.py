import django.db.models.deletion
from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ('incidents', '0020_seal_second_step'),
    ]

    operations = [
        migrations.AddField(
            model_name='planneddrill',
            name='begun_as',
            field=models.OneToOneField(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='planned', to='incidents.drill'),
        ),
    ]
