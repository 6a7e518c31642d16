from django.conf import settings
from django.db import models
from django.urls import reverse
from django.utils.translation import gettext_lazy as _

from yard.models.tagcode import new_code


class TagQuerySet(models.QuerySet["Tag"]):
    def blank(self) -> "TagQuerySet":
        """Printed, but on no stack or board yet."""
        return self.filter(stack=None, board=None, replaced_by=None)

    def found(self, code: str) -> "Tag | None":
        """The tag of a normalised code, with what it hangs on, in one query."""
        related = ("stack__species", "stack__place", "board__stack", "replaced_by")
        return self.select_related(*related).filter(code=code).first()


class Tag(models.Model):
    """A QR label. A blank one waits for its stack; a lost one points to the tag that took its place."""

    code = models.CharField(_("code"), max_length=10, unique=True, default=new_code)
    made_at = models.DateTimeField(auto_now_add=True)
    made_by = models.ForeignKey(settings.AUTH_USER_MODEL, models.SET_NULL, null=True, related_name="+")
    stack = models.ForeignKey("yard.Stack", models.PROTECT, null=True, blank=True, related_name="tags")
    board = models.ForeignKey("yard.Board", models.PROTECT, null=True, blank=True, related_name="tags")
    replaced_by = models.ForeignKey("self", models.PROTECT, null=True, blank=True, related_name="replaces")
    replaced_at = models.DateTimeField(null=True, blank=True)

    objects = TagQuerySet.as_manager()

    class Meta:
        ordering = ["-made_at", "code"]
        constraints = [
            models.CheckConstraint(
                condition=models.Q(stack=None) | models.Q(board=None), name="tag_hangs_on_stack_or_board_not_both"
            ),
            models.UniqueConstraint(
                fields=["stack"], condition=models.Q(replaced_by=None), name="stack_has_one_live_tag"
            ),
            models.UniqueConstraint(
                fields=["board"], condition=models.Q(replaced_by=None), name="board_has_one_live_tag"
            ),
        ]

    def __str__(self) -> str:
        return self.code

    def get_absolute_url(self) -> str:
        return reverse("tag", args=[self.code])

    @property
    def is_blank(self) -> bool:
        return self.stack_id is None and self.board_id is None and self.replaced_by_id is None
