"""What `serve` and `demo` have in common: arguments, getting ready, saying the address."""

from contextlib import nullcontext
from typing import Any

from django.conf import settings
from django.core.management import call_command
from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.db import OperationalError, connection
from django.utils import timezone

from config.certificates import Certificates, NameNotPrivateError, certificates
from config.server import own_address, qr_in_terminal, serve
from config.worker import EmbeddedWorker


class ServingCommand(BaseCommand):
    """A command that ends in serving the app."""

    requires_system_checks: list[str] = []

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--port", type=int, default=8000)
        parser.add_argument(
            "--network", action="store_true", help="listen on the farm's network too, not on this machine alone"
        )

        parser.add_argument(
            "--https", action="store_true", help="with a certificate from an authority of this yard's own; see HTTPS.md"
        )

    def make_ready(self, *, without_backup: bool = False) -> None:
        """Migrate, fetch the decoder, collect the static files; each does nothing where nothing has changed."""
        try:
            call_command("migrate", verbosity=0, interactive=False, without_backup=without_backup, stdout=self.stdout)
        except OperationalError as error:
            name = connection.settings_dict["HOST"] or connection.settings_dict["NAME"]
            raise CommandError(
                f"the database at {name} does not answer: {error}. Is it running, and DATABASE_URL right?"
            ) from error
        call_command("vendor")
        call_command("collectstatic", verbosity=0, interactive=False)
        call_command("load_species", verbosity=0)

    def address(self, options: dict[str, Any]) -> str:
        if settings.PUBLIC_URL:
            return settings.PUBLIC_URL
        host = own_address() if options["network"] else "127.0.0.1"
        return f"{'https' if options['https'] else 'http'}://{host}:{options['port']}"

    def announce(self, address: str, network: bool) -> None:
        self.stdout.write(f"\nDrystack answers at  {address}")
        self.stdout.write(qr_in_terminal(address))
        if network:
            self.stdout.write("Anyone on this network can reach the sign-in page.")
        else:
            self.stdout.write("It listens on this machine alone; --network opens it to phones on the farm's network.")
        self.stdout.write("Stop it with Ctrl+C.\n")
        self.stdout.flush()

    def listen(self, options: dict[str, Any]) -> None:
        address = self.address(options)
        if options["network"]:
            settings.ALLOWED_HOSTS = [*settings.ALLOWED_HOSTS, own_address()]
        secured = self.secured() if options["https"] else None
        self.announce(address, options["network"])
        host = "0.0.0.0" if options["network"] else "127.0.0.1"  # noqa: S104  # nosec B104
        with EmbeddedWorker() if settings.TASKS_RUN == "embedded" else nullcontext():
            serve(host, options["port"], self.stdout.write, secured)

    def secured(self) -> Certificates:
        """Certificates for all names that requests may bear. Cookies are then for https alone; no HSTS, since whoever
        moves to another authority could not pass over the browser's refusal."""
        settings.SESSION_COOKIE_SECURE = settings.CSRF_COOKIE_SECURE = True
        try:
            made = certificates(settings.DATA_DIR / "https", settings.ALLOWED_HOSTS, timezone.now())
        except NameNotPrivateError as error:
            raise CommandError(str(error)) from error
        self.stdout.write(f"Phones must be told once to trust {made.authority}")
        self.stdout.write(f"Its fingerprint (SHA-256): {made.fingerprint}")
        return made
