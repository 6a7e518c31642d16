"""The tally editor, without a browser."""

import pytest

from yard.forms.tally import MOST_ROWS, SPARE_ROWS, Tally


def typed(*rows, **more):
    data = {"rows": str(max(len(rows), 1))}
    for number, row in enumerate(rows):
        data |= {f"line-{number}-{name}": text for name, text in zip(("length", "width", "count"), row, strict=True)}
    return data | {name.replace("__", "-"): text for name, text in more.items()}


def row_errors(tally):
    return [error for row in tally.rows for errors in row.errors.values() for error in errors]


def test_lines_are_read_and_empty_rows_pass():
    tally = Tally(typed(("4", "150", "30"), ("", "", ""), ("2500", "120", "5")))
    assert tally.is_valid()
    assert tally.lines == [(4000, 150, 30), (2500, 120, 5)]


def test_a_row_with_a_gap_says_what_is_missing():
    tally = Tally(typed(("4", "", "30")))
    assert not tally.is_valid()
    assert row_errors(tally) == ["How wide are they?"]


@pytest.mark.parametrize("count", ["0", "-3", "some", "2.5", "10001"])
def test_a_count_that_is_none_is_refused(count):
    tally = Tally(typed(("4", "150", count)))
    assert not tally.is_valid()
    assert len(row_errors(tally)) == 1


def test_a_tally_without_boards_is_refused():
    tally = Tally(typed(("", "", "")))
    assert not tally.is_valid()
    assert "No boards yet" in tally.error


def test_random_widths_count_without_being_put_into_rows():
    tally = Tally(typed(random__length="2.5", random__widths="150 160 2x175"))
    assert tally.is_valid()
    assert tally.lines == [(2500, 150, 1), (2500, 160, 1), (2500, 175, 2)]


@pytest.mark.parametrize(
    ("length", "widths", "field"),
    [("", "150 160", "length"), ("2.5", "", "widths"), ("2.5", "150 wide", "widths"), ("250", "150", "length")],
)
def test_random_widths_say_what_they_lack(length, widths, field):
    tally = Tally(typed(random__length=length, random__widths=widths))
    assert not tally.is_valid()
    assert list(tally.random.errors) == [field]


def test_about_so_many_boards_makes_lines_of_that_count_and_mean_length():
    tally = Tally(typed(about__count="40", about__shortest="2.5", about__longest="4.1", about__width="150"))
    assert tally.is_valid()
    lines = tally.lines
    assert sum(count for *_size, count in lines) == 40
    assert sum(length * count for length, _width, count in lines) / 40 == pytest.approx(3300)
    assert {width for _length, width, _count in lines} == {150}


def test_about_refuses_swapped_lengths_and_gaps():
    swapped = Tally(typed(about__count="40", about__shortest="4.1", about__longest="2.5", about__width="150"))
    assert not swapped.is_valid()
    assert "swapped" in swapped.about.errors["longest"][0]
    gap = Tally(typed(about__count="40", about__shortest="2.5", about__longest="", about__width="150"))
    assert not gap.is_valid()
    assert list(gap.about.errors) == ["longest"]


def test_growing_keeps_what_was_typed_even_what_is_wrong():
    data = typed(("2,5", "wide", ""), random__widths="150 16")
    grown = Tally(data).grown(data)
    assert grown.row_count > 1
    assert [grown.rows[0][name].value() for name in ("length", "width", "count")] == ["2,5", "wide", ""]
    assert grown.random["widths"].value() == "150 16"


def test_growing_ends_somewhere():
    data = {"rows": "99999999"}
    assert Tally(data).grown(data).row_count == MOST_ROWS


@pytest.mark.parametrize("rows", ["", "-4", "many"])
def test_a_page_that_sends_no_sensible_number_of_rows_still_works(rows):
    assert Tally({"rows": rows}).row_count == SPARE_ROWS


def test_spreading_puts_the_quick_ways_into_rows_behind_those_typed():
    data = typed(("4", "150", "30"), random__length="2.5", random__widths="150 2x175")
    spread = Tally(data).spread(data)
    assert [spread.rows[n]["length"].value() for n in range(3)] == ["4", "2.5", "2.5"]
    assert spread.rows[2]["count"].value() == 2
    assert not spread.random["widths"].value()
    assert [n for n, row in enumerate(spread.rows) if row.fields["length"].widget.attrs.get("autofocus")] == [1], "new"


def test_spreading_what_can_not_be_read_shows_why_and_keeps_it():
    data = typed(random__length="2.5", random__widths="150 wide")
    spread = Tally(data).spread(data)
    assert "widths" in spread.random.errors
    assert spread.random["widths"].value() == "150 wide"
