from django.apps import AppConfig
from django.utils.translation import gettext_lazy as _


class KilnrunsConfig(AppConfig):
    name = "kilnruns"
    verbose_name = _("Kilns and runs")
