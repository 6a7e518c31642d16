from django.conf import settings
from django.db import models
from django.utils.translation import gettext_lazy as _


class PhotoQuerySet(models.QuerySet["Photo"]):
    def shown(self) -> "PhotoQuerySet":
        return self.filter(removed_at=None)

    def removed(self) -> "PhotoQuerySet":
        """Out of sight, with their pictures still there."""
        return self.filter(removed_at__isnull=False).exclude(image="")


class Photo(models.Model):
    """A picture of a stack, re-encoded on arrival so that nothing but the picture is kept.

    Removed, it is out of sight and can be put back. Deleted for good, which takes an owner, the row stays without its
    picture, with who did it (`removed_by`), when and why.
    """

    stack = models.ForeignKey("yard.Stack", models.CASCADE, related_name="photos")
    image = models.ImageField(_("photo"), upload_to="stacks/%Y/%m/")
    added_at = models.DateTimeField(auto_now_add=True)
    added_by = models.ForeignKey(settings.AUTH_USER_MODEL, models.SET_NULL, null=True, related_name="+")
    removed_at = models.DateTimeField(_("removed"), null=True, blank=True)
    removed_by = models.ForeignKey(settings.AUTH_USER_MODEL, models.SET_NULL, null=True, related_name="+")
    delete_reason = models.CharField(_("why it was deleted"), max_length=200, blank=True)

    objects = PhotoQuerySet.as_manager()

    class Meta:
        ordering = ["-added_at"]
        constraints = [
            models.CheckConstraint(
                condition=~models.Q(image="") | ~models.Q(delete_reason=""), name="deleted_photo_has_a_reason"
            )
        ]

    def __str__(self) -> str:
        return f"photo of {self.stack_id}"
