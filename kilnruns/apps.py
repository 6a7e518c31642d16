from django.apps import AppConfig
from django.utils.translation import gettext_lazy as _


class KilnrunsConfig(AppConfig):
    name = "kilnruns"
    verbose_name = _("Kilns and runs")

    def ready(self) -> None:
        from django.contrib.auth.signals import user_logged_out

        from kilnruns.actions.history_tables import register_all
        from kilnruns.actions.reminding import end_of_session
        from kilnruns.actions.undoing import register_kinds
        from kilnruns.planning.days_out import days_out
        from yard import outlook

        outlook.kiln_tells(days_out)
        user_logged_out.connect(end_of_session, dispatch_uid="end_push_of_session")
        register_kinds()
        register_all()
