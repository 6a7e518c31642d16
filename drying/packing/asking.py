"""A long computation that may be broken off: steps that take long ask here whether it is still wanted.

The question is set for the thread that computes, so that nothing between needs to hand it on. It breaks off by raising.
"""

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from contextvars import ContextVar

_question: ContextVar[Callable[[], object] | None] = ContextVar("question", default=None)


@contextmanager
def asking(question: Callable[[], object]) -> Iterator[None]:
    """Within this, `still_wanted` calls `question`; what that raises goes up from wherever it was asked."""
    token = _question.set(question)
    try:
        yield
    finally:
        _question.reset(token)


def question_asked() -> Callable[[], object] | None:
    return _question.get()


def still_wanted() -> None:
    """Returns, unless the computation is to be broken off."""
    if question := _question.get():
        question()
