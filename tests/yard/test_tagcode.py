import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from stdnum.iso7064 import mod_37_2

from yard.models.tagcode import ALPHABET, COULD_BE, LENGTH, TagCodeError, check, groups, new_code, normalise, shown

STANDARD_37 = "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ*"

# Nine characters and the MOD 37-2 check character that two implementations sharing no code with python-stdnum give:
# npm cdigit 5.0.1 `mod37_2.generate` and npm @konfirm/iso7064 2.1.3 `Mod37_2.generate` (run on 8 codes, both agree).
ELSEWHERE = ["2345678923", "ABCDEFGHJN", "ZYXWVUTSRF", "KMNPQRSTUA", "7Q2XW9HKD6", "999999999G"]

codes = st.builds(new_code)


def reason(text):
    with pytest.raises(TagCodeError) as caught:
        check(text)
    return caught.value


def weighted_sum(code):
    """ISO 7064's other description of a pure system: characters times powers of the radix 2 from the right, mod 37."""
    return sum(STANDARD_37.index(c) * 2**i for i, c in enumerate(reversed(code))) % 37


def test_the_library_gives_the_standards_published_check_character():
    # G1234 89 654321 with check character Y: the worked example of ISBT 128 (blood donation numbers, which use
    # ISO 7064 MOD 37-2), as quoted in the docs of python-stdnum; that it is ISBT's own is from memory.
    assert mod_37_2.calc_check_digit("G123489654321") == "Y"
    # Both npm packages named above agree on it, and on this one.
    assert mod_37_2.calc_check_digit("ISO79") == "Y"


@pytest.mark.parametrize("code", ELSEWHERE)
def test_a_code_made_by_another_implementation_is_accepted(code):
    assert check(code) == code


@given(codes)
def test_a_new_code_satisfies_the_standards_congruence(code):
    assert len(code) == LENGTH
    assert set(code) <= set(ALPHABET)
    assert weighted_sum(code) == 1
    assert check(code) == code


def test_the_alphabet_is_31_characters_without_look_alikes():
    assert len(set(ALPHABET)) == len(ALPHABET) == 31
    assert not set(ALPHABET) & set("01OIL")
    assert set(ALPHABET) <= set(STANDARD_37)


@given(codes, st.integers(0, LENGTH - 1), st.sampled_from(ALPHABET))
def test_one_mistyped_character_is_refused(code, position, other):
    assume(code[position] != other)
    error = reason(code[:position] + other + code[position + 1 :])
    assert error.code == "check"
    assert error.position is None


@given(codes, st.integers(0, LENGTH - 2))
def test_two_swapped_neighbours_are_refused(code, position):
    first, second = code[position : position + 2]
    assume(first != second)
    assert reason(code[:position] + second + first + code[position + 2 :]).code == "check"


def test_every_mistype_and_every_swap_of_one_code_is_refused():
    code = ELSEWHERE[4]
    mistypes = {code[:i] + c + code[i + 1 :] for i in range(LENGTH) for c in ALPHABET}
    swaps = {code[:i] + code[i + 1] + code[i] + code[i + 2 :] for i in range(LENGTH - 1)}
    wrong = (mistypes | swaps) - {code}
    assert len(wrong) == 10 * 30 + 9
    assert {reason(text).code for text in wrong} == {"check"}


@given(codes, st.integers(0, LENGTH - 1), st.sampled_from(sorted(COULD_BE)))
def test_a_look_alike_is_pointed_at_with_what_it_could_be(code, position, alien):
    error = reason(code[:position].lower() + alien.lower() + code[position + 1 :])
    assert (error.code, error.position, error.character) == ("character", position, alien)
    assert set(error.could_be) <= set(ALPHABET)
    assert error.could_be


@given(codes, st.integers(0, LENGTH - 1))
def test_a_character_too_few_or_too_many_is_a_matter_of_length(code, position):
    for text in (code[:position] + code[position + 1 :], code[:position] + code[position] + code[position:]):
        error = reason(text)
        assert (error.code, error.text, error.could_be) == ("length", text, "")


def test_nothing_typed_is_a_matter_of_length():
    assert reason(" - ").code == "length"


@given(codes)
def test_people_type_and_scan_a_code_in_many_ways(code):
    first, second, third = groups(code)
    assert (len(first), len(second), len(third)) == (3, 3, 4)
    for text in (
        code.lower(),
        f" {first} {second}\t{third}\n",
        f"{first}-{second}\N{EN DASH}{third}",
        f"\N{ZERO WIDTH NO-BREAK SPACE}{first}\N{MINUS SIGN}{second}_{third}",
        f"HTTPS://YARD.EXAMPLE/T/{code}",
        f"http://192.168.1.20:8000/t/{code.lower()}/?from=camera#top",
        "".join(chr(ord(c) + 0xFEE0) for c in code),
        shown(code),
    ):
        assert check(text) == code


def test_shown_sets_the_groups_apart_by_a_narrow_no_break_space():
    assert shown("ABCDEFGHJN") == "ABC\u202fDEF\u202fGHJN"


@given(st.text())
def test_any_text_is_either_a_code_or_refused_with_a_reason(text):
    try:
        assert weighted_sum(check(text)) == 1
    except TagCodeError as error:
        assert error.code in {"length", "character", "check"}
        assert error.text == normalise(text)
        assert (error.position is not None) == (error.code == "character")


def test_a_foreign_address_is_refused():
    assert reason("https://example.org/menu").code == "character"


def test_two_thousand_new_codes_differ():
    assert len({new_code() for _ in range(2000)}) == 2000
