from django.apps import AppConfig
from django.utils.translation import gettext_lazy as _


class YardConfig(AppConfig):
    name = "yard"
    verbose_name = _("Yard")

    def ready(self) -> None:
        from yard.actions.history_tables import register_all
        from yard.actions.signins import connect
        from yard.actions.undoing_kinds import register_kinds

        register_kinds()
        register_all()
        connect()
