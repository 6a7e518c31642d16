from django.db import migrations


class Migration(migrations.Migration):

    dependencies = [
        ('yard', '0007_fill_need_lines'),
    ]

    operations = [
        migrations.RemoveConstraint(
            model_name='need',
            name='need_has_volume',
        ),
        migrations.RemoveField(
            model_name='need',
            name='species',
        ),
        migrations.RemoveField(
            model_name='need',
            name='thickness_mm',
        ),
        migrations.RemoveField(
            model_name='need',
            name='volume_m3',
        ),
    ]
