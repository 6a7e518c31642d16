"""The second factor of a sign-in: a code from the phone's authenticator (TOTP), or one of ten recovery codes."""

from base64 import b32encode
from contextlib import AbstractContextManager
from typing import Any

from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils.translation import gettext as _
from django_otp.models import Device
from django_otp.plugins.otp_static.models import StaticDevice, StaticToken
from django_otp.plugins.otp_totp.models import TOTPDevice

from yard.changes import PEOPLE, Watched, kept

RECOVERY_CODES = 10
DIGITS = 6
NAME = "second factor"


def has_factor(person: Any) -> bool:
    return TOTPDevice.objects.filter(user=person, confirmed=True).exists()


def codes_left(person: Any) -> int:
    return StaticToken.objects.filter(device__user=person).count()


def offered(person: Any) -> TOTPDevice:
    """The secret that waits for its first code; the same until it is confirmed."""
    device, _is_new = TOTPDevice.objects.get_or_create(user=person, confirmed=False, defaults={"name": NAME})
    return device


def secret_of(device: TOTPDevice) -> str:
    """To type where no camera is: base32 in groups of four."""
    text = b32encode(device.bin_key).decode().rstrip("=")
    return " ".join(text[at : at + 4] for at in range(0, len(text), 4))


@transaction.atomic
def confirm(*, person: Any, code: str, by: Any) -> list[str]:
    """Begin to ask for it, and the recovery codes to show this once. Raises ValidationError for a wrong code."""
    device = TOTPDevice.objects.select_for_update().filter(user=person, confirmed=False).first()
    if device is None or not _is_right(device, code):
        raise ValidationError(_("That is not the code that the app shows now. Type the next one."))
    TOTPDevice.objects.filter(user=person, confirmed=True).delete()
    device.confirmed = True
    device.save(update_fields=["confirmed"])
    with _told("factor_begun", person, by):
        return renew_codes(person=person, by=by)


@transaction.atomic
def renew_codes(*, person: Any, by: Any) -> list[str]:
    """New recovery codes to show this once; the old ones are void."""
    with _told("codes_renewed", person, by):
        StaticDevice.objects.filter(user=person).delete()
        device = StaticDevice.objects.create(user=person, name=NAME)
    codes = [StaticToken.random_token() for _one in range(RECOVERY_CODES)]
    StaticToken.objects.bulk_create(StaticToken(device=device, token=code) for code in codes)
    return [f"{code[:4]}-{code[4:]}" for code in codes]


@transaction.atomic
def end(*, person: Any, by: Any) -> None:
    """Ask for the password alone from now on."""
    with _told("factor_ended", person, by):
        TOTPDevice.objects.filter(user=person).delete()
        StaticDevice.objects.filter(user=person).delete()


def _told(kind: str, person: Any, by: Any) -> AbstractContextManager[Any]:
    """In the history of people; of the secrets nothing."""
    return kept(kind, Watched([PEOPLE], named=[person]), by=by)


@transaction.atomic
def is_code_of(person: Any, code: str) -> bool:
    """Whether it lets this person in. Each code counts once; wrong ones make the next try wait, longer each time."""
    plain = code.replace(" ", "").replace("-", "").lower()
    table: Any = TOTPDevice if plain.isdecimal() and len(plain) == DIGITS else StaticDevice
    device = table.objects.select_for_update().filter(user=person, confirmed=True).first()
    return device is not None and _is_right(device, plain)


def _is_right(device: Device, code: str) -> bool:
    return bool(device.verify_token(code.replace(" ", "")))
