"""A column of text that each reader reads in their language, while what is kept is the same for all."""

from collections.abc import Callable
from typing import Any, overload

from django.db import models
from django.db.models.query_utils import DeferredAttribute


class _Told(DeferredAttribute):
    """Read in the reader's language. Written back as it was read, it stays what was kept."""

    field: "ToldField"

    @overload
    def __get__(self, instance: None, cls: Any = None) -> "_Told": ...
    @overload
    def __get__(self, instance: models.Model, cls: Any = None) -> str: ...
    def __get__(self, instance: models.Model | None, cls: Any = None) -> Any:
        return self if instance is None else self.field.tell(super().__get__(instance, cls))

    def __set__(self, instance: models.Model, value: str) -> None:
        before = instance.__dict__.get(self.field.attname)
        if before is None or self.field.tell(before) != value:
            instance.__dict__[self.field.attname] = value


class ToldField(models.CharField[str, str]):
    """`tell` reads what is kept; to the database it is a column of text like others."""

    descriptor_class = _Told

    def __init__(self, *args: Any, tell: Callable[[str], str] = str, **kwargs: Any) -> None:
        self.tell = tell
        super().__init__(*args, **kwargs)

    def kept(self, instance: models.Model) -> str:
        return str(DeferredAttribute.__get__(self.descriptor_class(self), instance))

    def pre_save(self, model_instance: models.Model, add: bool) -> str:
        return self.kept(model_instance)

    def value_from_object(self, obj: models.Model) -> str:
        return self.kept(obj)

    def value_to_string(self, obj: models.Model) -> str:
        return self.kept(obj)

    def deconstruct(self) -> Any:
        name, _path, args, kwargs = super().deconstruct()
        return name, "django.db.models.CharField", args, kwargs


def kept(instance: models.Model, name: str) -> str:
    """What stands in a column that is told otherwise."""
    field = instance._meta.get_field(name)
    assert isinstance(field, ToldField)
    return field.kept(instance)
