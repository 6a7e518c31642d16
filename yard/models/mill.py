from django.db import models
from django.utils.translation import gettext_lazy as _

USUAL_CURRENCY = "EUR"


class Mill(models.Model):
    """What is true of the whole yard; one row."""

    name = models.CharField(_("name of the mill"), max_length=80)
    currency = models.CharField(_("currency"), max_length=8, default=USUAL_CURRENCY)
    paper = models.CharField(_("paper"), max_length=8, choices=[("a4", "A4"), ("letter", _("Letter"))], default="a4")

    class Meta:
        constraints = [models.CheckConstraint(condition=models.Q(pk=1), name="mill_is_one_row")]

    def __str__(self) -> str:
        return self.name

    @classmethod
    def current(cls) -> "Mill | None":
        return cls.objects.filter(pk=1).first()


def currency() -> str:
    """The mill's; the usual one before it has a name."""
    mill = Mill.current()
    return mill.currency if mill else USUAL_CURRENCY
