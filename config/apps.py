from django.apps import AppConfig


class ConfigConfig(AppConfig):
    """Holds the commands that know both apps."""

    name = "config"
