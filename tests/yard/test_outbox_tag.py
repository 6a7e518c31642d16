"""What a page tells the phone's outbox of its forms."""

from pathlib import Path

import pytest
from django.template import Context, Template

from tests.factories import StackFactory, TagFactory
from yard.models import Event

# A paper is issued only as it was previewed, which takes the yard itself.
# A paper is frozen as the yard knows it; an undo is offered for what has arrived, while it can be seen that it was.
LIVE_ALONE = {"paper_new.html", "_message.html", "_undo_last.html"}
TEMPLATES = Path(__file__).resolve().parents[2] / "templates"


def drawn(source: str, **context: object) -> str:
    return Template("{% load receipts %}" + source).render(Context(context))


@pytest.mark.django_db
def test_a_form_about_a_stack_bears_its_code_its_words_and_its_version(django_assert_num_queries):
    stack = StackFactory(thickness_mm=27)
    event = Event.objects.create(stack=stack, kind=Event.Kind.NOTED, at=stack.made_at, details={"text": "wet"})
    with django_assert_num_queries(1):
        found = drawn('<form{% outbox "Reading" stack page="/here/" then="/there/" %}>', stack=stack)
    assert f'data-subject="{stack.code}"' in found
    assert f'data-seen="{event.pk}"' in found
    assert "27\u202fmm" in found
    assert " data-outbox " in found or " data-outbox>" in found
    assert 'data-page="/here/"' in found
    assert 'data-then="/there/"' in found


@pytest.mark.django_db
def test_rows_of_many_stacks_ask_the_database_nothing(django_assert_num_queries):
    stack = StackFactory()
    with django_assert_num_queries(0):
        assert "data-seen" not in drawn('{% outbox "Check in" stack seen="no" %}', stack=stack)


@pytest.mark.django_db
def test_a_blank_tag_is_a_subject_too():
    tag = TagFactory()
    assert f'data-subject="{tag.code}"' in drawn('{% outbox "New stack" tag button="keep" %}', tag=tag)
    assert 'data-outbox-button="keep"' in drawn('{% outbox "New stack" tag button="keep" %}', tag=tag)


def test_words_are_escaped():
    assert "&lt;b&gt;" in drawn("{% outbox words words %}", words="<b>")


def test_each_form_with_a_key_is_kept_on_the_phone_until_it_has_arrived():
    """A new form that is sent under a key works without reception by the same way, or this says that it does not."""
    keyed = [path for path in TEMPLATES.rglob("*.html") if "{% receipt_key %}" in path.read_text()]
    assert len(keyed) > 10
    for path in keyed:
        if path.name in LIVE_ALONE:
            continue
        text = path.read_text()
        assert text.count("{% outbox") >= text.count("{% receipt_key %}"), path
