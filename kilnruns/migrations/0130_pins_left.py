from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ('kilnruns', '0100_steaming'),
    ]

    operations = [
        migrations.AddField(
            model_name='chargestack',
            name='pins_left',
            field=models.PositiveSmallIntegerField(default=0),
        ),
    ]
