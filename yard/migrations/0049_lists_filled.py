from django.db import migrations, models


def note(apps, schema_editor):
    """As `StackQuerySet.note_forecasts` does: of each stack, what its forecast says."""
    Stack, Outlook = apps.get_model("yard", "Stack"), apps.get_model("yard", "Outlook")
    kept = Outlook.objects.filter(stack=models.OuterRef("pk"))
    said = models.Case(
        models.When(ready_p50__isnull=False, then=1),
        models.When(never=True, then=3),
        default=2,
        output_field=models.PositiveSmallIntegerField(),
    )
    Stack.objects.filter(outlook__isnull=False).update(
        forecast=models.Subquery(kept.annotate(said=said).values("said")[:1]),
        ready_on=models.Subquery(kept.values("ready_p50")[:1]),
        known_on=models.Subquery(kept.values("as_of")[:1]),
        loss_pct_per_day=models.Subquery(kept.values("loss_pct_per_day")[:1]),
    )


class Migration(migrations.Migration):
    dependencies = [("yard", "0048_lists_by_index")]
    operations = [migrations.RunPython(note, migrations.RunPython.noop)]
