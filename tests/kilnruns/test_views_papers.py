"""The pages of papers: previewed, issued, listed, printed, opened to strangers by owners alone, withdrawn."""

import re
from uuid import uuid4

import pytest
from django.utils import timezone

from kilnruns.actions.papers import open_link
from kilnruns.forms.paper import MOST_ITEMS
from kilnruns.models import Paper
from tests.factories import BoardFactory, ReadingFactory, StackFactory
from tests.kilnruns.closed import finished
from tests.kilnruns.factories import COURSE
from tests.kilnruns.test_papers import dry_stack, issued
from tests.yard.queries import queries_of
from yard.models import Mill
from yard.models.tagcode import new_code

pytestmark = pytest.mark.django_db

STATED = ["moisture", "run", "quality"]


def fields(*rows, **more):
    return {"kind": "dry_certificate", "to": "A joiner", "items": [row.code for row in rows], "stated": STATED, **more}


def preview(client, path, given):
    response = client.post(path, given)
    assert response.status_code == 200, re.findall(r'class="error"[^>]*>(.*?)<', response.content.decode())
    return response.content.decode()


def seen_in(page):
    return re.search(r'name="seen" value="([^"]+)"', page)[1]


def issue_it(client, path, given, **more):
    seen = seen_in(preview(client, path, given))
    return client.post(path, given | {"issue": "1", "seen": seen, "key": str(uuid4()), **more})


def error_of(response):
    assert response.status_code == 422
    return response.content.decode()


def test_it_is_previewed_and_then_issued_as_it_was_seen(signed_in):
    charge = finished(stacks=2)
    stacks = [item.stack for item in charge.stacks.all()]
    path = f"/papers/new/?charge={charge.pk}&kind=dry_certificate"
    page = preview(signed_in, path, fields(*stacks))
    assert "not issued yet" in page and "capacitance meter" in page
    assert Paper.objects.count() == 0
    response = issue_it(signed_in, path, fields(*stacks))
    paper = Paper.objects.get()
    assert response.url == paper.get_absolute_url()
    assert (paper.charge, set(paper.stacks.all())) == (charge, set(stacks))
    assert "capacitance meter" in signed_in.get(response.url).content.decode()


def test_a_double_tap_issues_one(signed_in):
    stack = dry_stack()
    path = f"/papers/new/?stack={stack.code}"
    given = fields(stack)
    given |= {"issue": "1", "seen": seen_in(preview(signed_in, path, given)), "key": str(uuid4())}
    assert signed_in.post(path, given).url == signed_in.post(path, given).url
    assert Paper.objects.count() == 1


def test_what_changed_since_the_preview_is_shown_again_and_not_issued(signed_in):
    stack = dry_stack()
    path = f"/papers/new/?stack={stack.code}"
    seen = seen_in(preview(signed_in, path, fields(stack)))
    stack.lines.update(count=39)
    page = preview(signed_in, path, fields(stack) | {"issue": "1", "seen": seen})
    assert "has changed since the preview" in page
    assert Paper.objects.count() == 0


def test_the_form_offers_the_charges_stacks_ticked_and_a_stacks_boards(signed_in):
    charge = finished(stacks=2)
    stack = charge.stacks.all()[0].stack
    board = BoardFactory(stack=stack)
    page = signed_in.get(f"/papers/new/?charge={charge.pk}").content.decode()
    assert page.count("checked") == 2 + 1 + 3  # both stacks, the usual kind, all that may be stated
    page = signed_in.get(f"/papers/new/?stack={stack.code}").content.decode()
    assert re.search(rf'value="{stack.code}"[^>]*checked', page)
    assert f'value="{board.code}"' in page
    assert re.search(
        rf'value="{board.code}"[^>]*checked', signed_in.get(f"/papers/new/?board={board.code}").content.decode()
    )
    assert signed_in.get("/papers/new/").status_code == 200
    assert signed_in.get("/papers/new/?charge=99999").status_code == 404


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"items": []}, "Tick at least one."),
        ({"kind": "delivery_note", "to": ""}, "to whom does the wood go?"),
        ({"stated": ["run"]}, "A dry certificate states the moisture"),
        ({"more": "nonsense"}, "“nonsense” is no tag code."),
        ({"depth_mm": "x"}, "Enter a number."),
        ({"kind": "pamphlet"}, "Select a valid choice"),
    ],
)
def test_each_mistake_is_told_and_nothing_typed_is_lost(signed_in, change, words):
    stack = dry_stack()
    given = fields(stack, note="mind the rain") | change
    page = error_of(signed_in.post(f"/papers/new/?stack={stack.code}", given))
    assert words in page.replace("&#x27;", "'")
    assert "mind the rain" in page


def test_more_packs_are_added_by_their_tags_and_an_unknown_one_is_named(signed_in):
    stack, other = dry_stack(), ReadingFactory(raw=[9.0, 9.5]).stack
    path = f"/papers/new/?stack={stack.code}"
    issue_it(signed_in, path, fields(stack, more=f"{other.code[:3]}{other.code[3:].lower()}"))
    assert [item["code"] for item in Paper.objects.get().facts["items"]] == [stack.code, other.code]
    unknown = new_code()
    assert "No stack or board bears this tag" in error_of(signed_in.post(path, fields(stack, more=unknown)))


def test_a_board_is_not_counted_twice_beside_its_stack(signed_in):
    stack = dry_stack()
    board = BoardFactory(stack=stack)
    page = error_of(signed_in.post(f"/papers/new/?stack={stack.code}", fields(stack, board)))
    assert "counted twice" in page


def test_wood_that_was_never_measured_gets_a_delivery_note_but_no_certificate(signed_in):
    stack = StackFactory()
    path = f"/papers/new/?stack={stack.code}"
    assert "was never measured" in error_of(signed_in.post(path, fields(stack)))
    assert issue_it(signed_in, path, fields(stack, kind="delivery_note")).status_code == 302


def test_more_than_a_page_holds_is_refused(signed_in):
    charge = finished(stacks=MOST_ITEMS + 1)
    stacks = [item.stack for item in charge.stacks.all()]
    assert f"One page holds {MOST_ITEMS}" in error_of(
        signed_in.post(f"/papers/new/?charge={charge.pk}", fields(*stacks))
    )
    long = ReadingFactory(stack=StackFactory(lines=[(2000 + n, 100 + n, 1) for n in range(420)]), raw=[9.0]).stack
    page = error_of(signed_in.post(f"/papers/new/?stack={long.code}", fields(long)))
    assert "more than one page holds" in page


def test_stacks_that_left_the_yard_still_get_their_note(signed_in):
    stack = dry_stack()
    stack.used_at, stack.used_for = timezone.now(), "sold"
    stack.save()
    assert f"/papers/new/?stack={stack.code}" in signed_in.get(f"/stacks/{stack.code}/use/").content.decode()
    assert issue_it(signed_in, f"/papers/new/?stack={stack.code}", fields(stack)).status_code == 302


# Owners alone


def test_only_an_owner_opens_ends_and_withdraws(signed_in, owner_in):
    paper = issued(dry_stack())
    for what in ("link", "link/end", "withdraw"):
        assert signed_in.post(f"/papers/{paper.pk}/{what}/", {"why": "x"}).status_code == 403
        assert owner_in.get(f"/papers/{paper.pk}/{what}/").status_code == 405
    page = signed_in.get(f"/papers/{paper.pk}/").content.decode()
    assert "withdraw/" not in page and "/link/" not in page
    assert owner_in.post(f"/papers/{paper.pk}/link/").status_code == 302
    assert paper.links.get().is_open
    assert paper.links.get().token in owner_in.get(f"/papers/{paper.pk}/").content.decode()
    owner_in.post(f"/papers/{paper.pk}/link/end/")
    assert not paper.links.get().is_open


def test_a_worker_who_ticks_it_all_the_same_opens_nothing_and_an_owner_does(signed_in, owner_in):
    stack = dry_stack()
    path = f"/papers/new/?stack={stack.code}"
    assert 'name="public"' not in preview(signed_in, path, fields(stack))
    issue_it(signed_in, path, fields(stack), public="yes")
    assert Paper.objects.get(number=1).live_link is None
    issue_it(owner_in, path, fields(stack))
    assert Paper.objects.get(number=2).live_link is None
    issue_it(owner_in, path, fields(stack), public="yes")
    assert Paper.objects.get(number=3).live_link is not None


def test_withdrawing_wants_a_reason_and_happens_once(owner_in):
    paper = issued(dry_stack())
    assert "This field is required" in error_of(owner_in.post(f"/papers/{paper.pk}/withdraw/", {"why": " "}))
    owner_in.post(f"/papers/{paper.pk}/withdraw/", {"why": "wrong buyer"})
    assert "wrong buyer" in owner_in.get(f"/papers/{paper.pk}/").content.decode()
    again = owner_in.post(f"/papers/{paper.pk}/withdraw/", {"why": "again"}, follow=True).content.decode()
    assert "withdrawn already" in again and "wrong buyer" in again
    owner_in.post(f"/papers/{paper.pk}/link/")
    assert paper.links.count() == 0


# Print and list


def test_the_print_is_on_the_mills_paper_or_the_one_asked_for(signed_in):
    paper = issued(dry_stack())
    Mill.objects.create(pk=1, name="Hollow mill", paper="letter")
    response = signed_in.get(f"/papers/{paper.pk}/print.pdf")
    assert response["Content-Type"] == "application/pdf"
    assert response["Cache-Control"] == "no-store"
    assert b"612 792" in response.content or b"612 791" in response.content
    assert b"595" in signed_in.get(f"/papers/{paper.pk}/print.pdf?paper=a4").content


def test_at_an_address_that_no_symbol_holds_the_print_says_so(signed_in, settings):
    settings.PUBLIC_URL = "https://[::1]"
    paper = issued(dry_stack())
    open_link(paper=paper, by=None, at=timezone.now())
    response = signed_in.get(f"/papers/{paper.pk}/print.pdf", follow=True)
    assert "https://yard.example" in response.content.decode()


def test_the_list_is_searched_and_takes_the_same_queries_for_many(signed_in):
    stack = dry_stack()
    issued(stack, to="Anna <b>Lind</b>")
    few = queries_of(signed_in, "/papers/")
    for number in range(6):
        open_link(paper=issued(stack, to=f"Buyer {number}"), by=None, at=timezone.now())
    assert queries_of(signed_in, "/papers/") == few
    page = signed_in.get("/papers/?q=lind").content.decode()
    assert "Dry certificate 1" in page and "Dry certificate 2" not in page
    assert "&lt;b&gt;Lind" in page
    assert "No paper says that" in signed_in.get("/papers/?q=walnut").content.decode()


def test_an_empty_list_says_what_belongs_there(signed_in):
    assert "No paper yet" in signed_in.get("/papers/").content.decode()


def test_a_papers_page_takes_as_many_queries_for_eight_stacks_as_for_one(signed_in):
    one = issued(dry_stack())
    eight = issued(*[item.stack for item in finished(stacks=8).stacks.all()])
    assert queries_of(signed_in, f"/papers/{one.pk}/") == queries_of(signed_in, f"/papers/{eight.pk}/")


def test_the_pages_of_stack_charge_and_setup_lead_there(signed_in):
    charge = finished(course=COURSE)
    stack = charge.stacks.get().stack
    assert f"/papers/new/?stack={stack.code}" in signed_in.get(f"/stacks/{stack.code}/").content.decode()
    for path in (f"/charges/{charge.pk}/", f"/charges/{charge.pk}/report/"):
        assert f"/papers/new/?charge={charge.pk}" in signed_in.get(path).content.decode()
    assert "/papers/" in signed_in.get("/setup/").content.decode()
