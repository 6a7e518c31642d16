import logging

from django.apps import AppConfig


class ConfigConfig(AppConfig):
    """Holds the commands that know both apps."""

    name = "config"

    def ready(self) -> None:
        """The languages are compiled before the first page is asked for."""
        from config.words.catalogues import compile_stale

        try:
            compile_stale()
        except OSError as reason:  # a folder that can't be written to: English is shown where no .mo came along
            logging.getLogger(__name__).warning("The languages could not be compiled: %s", reason)
