"""Figures of which the whole mill has one row, or none yet."""

from typing import Self

from django.db import models


class OneRow(models.Model):
    """Its own constraint keeps the key at 1."""

    class Meta:
        abstract = True

    @classmethod
    def current(cls) -> Self:
        """The mill's row, or one with the defaults that is not kept yet."""
        return cls._default_manager.filter(pk=1).first() or cls(pk=1)
