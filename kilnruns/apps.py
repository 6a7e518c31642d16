from django.apps import AppConfig
from django.utils.translation import gettext_lazy as _


class KilnrunsConfig(AppConfig):
    name = "kilnruns"
    verbose_name = _("Kilns and runs")

    def ready(self) -> None:
        from django.contrib.auth.signals import user_logged_out

        from kilnruns.actions.reminding import end_of_session
        from kilnruns.closing.cost_shares import kiln_per_m3
        from kilnruns.planning.days_out import days_out
        from kilnruns.planning.kiln_days import kiln_days
        from kilnruns.running.sorting import TITLES, of_test, standing
        from yard import outlook
        from yard.models.tagcode import shown
        from yard.receipts.others import name_field, tell_of_forms

        outlook.kiln_tells(days_out)
        outlook.kiln_costs_told_by(kiln_per_m3)
        outlook.kiln_takes(kiln_days)
        for name, title in TITLES.items():
            tell_of_forms({name: title}, of_test if name == "stress_test" else standing)
        name_field("inside", _("Stood in the kiln"), shown)
        user_logged_out.connect(end_of_session, dispatch_uid="end_push_of_session")
