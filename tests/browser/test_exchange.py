"""A sheet goes out, a file comes in on a phone's screen: seen row by row, then written."""

from typing import Any

from playwright.sync_api import Page

from tests.factories import StackFactory
from yard.models import Stack


def test_a_file_is_looked_through_and_written(signed_in: Page, accessible: Any, keep_picture: Any) -> None:
    stack = StackFactory(species__name="Testspruce", place__name="Long shed")
    head = "tag;species;place;thickness_mm;sawn_on;tally\n"
    rows = f"{stack.code};Testspruce;Long shed;33;{stack.cut_on};4000x150x9\n;Testspruce;Lost shed;27;soon;4 by 4\n"
    for key in ("stacks", "boards", "readings", "needs"):
        signed_in.goto(f"/exchange/{key}/")
        accessible(signed_in)
    signed_in.goto("/exchange/stacks/")
    with signed_in.expect_download() as caught:
        signed_in.get_by_role("link", name="Save as CSV").click()
    assert caught.value.suggested_filename == "stacks.csv"
    signed_in.get_by_label("CSV file or XLSX workbook").set_input_files(
        {"name": "mine.csv", "mimeType": "text/csv", "buffer": (head + rows).encode()}
    )
    signed_in.get_by_role("button", name="Look through this file").click()
    signed_in.get_by_text("0 new, 1 changed, 0 the same, 1 refused").wait_for()
    accessible(signed_in)
    keep_picture(signed_in, "exchange_sent")
    assert Stack.objects.get().thickness_mm == 27
    signed_in.goto("/exchange/")
    accessible(signed_in)
    signed_in.get_by_role("link", name="mine.csv").click()
    signed_in.get_by_role("button", name="Write 1 row").click()
    signed_in.get_by_text("1 row written").wait_for()
    assert Stack.objects.get().thickness_mm == 33
