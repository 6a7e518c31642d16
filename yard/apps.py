from django.apps import AppConfig
from django.utils.translation import gettext_lazy as _


class YardConfig(AppConfig):
    name = "yard"
    verbose_name = _("Yard")
