from django.db import migrations


def fill(apps, schema_editor):
    """Each need was one line, in m³ of one wood."""
    Need, NeedLine = apps.get_model("yard", "Need"), apps.get_model("yard", "NeedLine")
    for need in Need.objects.all():
        line = NeedLine.objects.create(
            need=need, thickness_mm=need.thickness_mm, quantity=need.volume_m3, unit="m3"
        )
        line.species.set([need.species_id])


class Migration(migrations.Migration):

    dependencies = [
        ('yard', '0006_need_lines'),
    ]

    operations = [
        migrations.RunPython(fill, migrations.RunPython.noop),
    ]
