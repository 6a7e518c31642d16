from django.conf import settings
from django.db import models
from django.utils.translation import gettext_lazy as _


class Photo(models.Model):
    """A picture of a stack, re-encoded on arrival so that nothing but the picture is kept."""

    stack = models.ForeignKey("yard.Stack", models.CASCADE, related_name="photos")
    image = models.ImageField(_("photo"), upload_to="stacks/%Y/%m/")
    added_at = models.DateTimeField(auto_now_add=True)
    added_by = models.ForeignKey(settings.AUTH_USER_MODEL, models.SET_NULL, null=True, related_name="+")

    class Meta:
        ordering = ["-added_at"]

    def __str__(self) -> str:
        return f"photo of {self.stack_id}"
