"""A person's reminders: the hour, and what a browser tells of itself."""

from base64 import urlsafe_b64decode
from typing import Any

from cryptography.hazmat.primitives.asymmetric import ec
from django import forms
from django.utils.translation import gettext_lazy as _

from kilnruns.models import Reminders
from kilnruns.reminding.endpoint import EndpointError, check

HOURS = [(hour, f"{hour}:00") for hour in range(24)]
NOT_FIT = _("This browser gave an address that no reminder can be sent to. Try another browser.")


class HoursForm(forms.ModelForm):
    hour = forms.TypedChoiceField(label=_("Remind me each day at"), choices=HOURS, coerce=int)

    class Meta:
        model = Reminders
        fields = ["hour", "alarms"]


class SubscriptionForm(forms.Form):
    """What the Push API gives for a server: endpoint, and keys (RFC 8291) in base64url."""

    subscription = forms.JSONField(widget=forms.HiddenInput)

    def clean_subscription(self) -> dict[str, str]:
        """Endpoint, p256dh and auth."""
        given = self.cleaned_data["subscription"]
        keys = given.get("keys") if isinstance(given, dict) else None
        if not isinstance(keys, dict):
            raise forms.ValidationError(NOT_FIT)
        found = {"endpoint": given.get("endpoint"), "p256dh": keys.get("p256dh"), "auth": keys.get("auth")}
        if not all(isinstance(value, str) and value.isascii() for value in found.values()):
            raise forms.ValidationError(NOT_FIT)
        try:
            check(found["endpoint"])
            ec.EllipticCurvePublicKey.from_encoded_point(ec.SECP256R1(), _bytes(found["p256dh"], 65))
            _bytes(found["auth"], 16)
        except (EndpointError, ValueError) as error:
            raise forms.ValidationError(NOT_FIT) from error
        return found


def _bytes(text: Any, length: int) -> bytes:
    """ValueError where it does not stand for so many bytes."""
    found = urlsafe_b64decode(text.rstrip("=") + "=" * (-len(text.rstrip("=")) % 4))
    if len(found) != length or len(text) > 2 * length:
        raise ValueError("of another length")
    return found
