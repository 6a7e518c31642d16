from django.conf import settings
from django.db import models


class SignIn(models.Model):
    """Where somebody is signed in: a session, by what device, last heard of when. It goes with its session."""

    user = models.ForeignKey(settings.AUTH_USER_MODEL, models.CASCADE, related_name="sign_ins")
    session_key = models.CharField(max_length=40, unique=True)
    agent = models.CharField(max_length=300, blank=True)
    began_at = models.DateTimeField()
    seen_at = models.DateTimeField()

    class Meta:
        ordering = ["-seen_at", "-pk"]

    def __str__(self) -> str:
        return f"sign-in {self.pk} of {self.user}"
