"""A backup off the request: with many photos it takes minutes."""

from django.utils import timezone
from django_tasks import task

from config.backup import keeping


@task()
def back_up_now() -> None:
    keeping.back_up_alone(at=timezone.now())
