"""The code on a tag: nine random characters and one check character, made to be read aloud and typed in gloves."""

import re
import secrets
import unicodedata
from collections.abc import Callable

from stdnum.iso7064 import mod_37_2

ALPHABET = "23456789ABCDEFGHJKMNPQRSTUVWXYZ"
"""Digits and capitals without 0 and O, 1, I and L."""
LENGTH = 10
COULD_BE = {"0": "DQ", "O": "DQ", "1": "7T", "I": "JT", "L": "EJ"}
"""What a reader who sees a character that no code holds may have misread; for a hint, never put right unasked."""

_IN_ADDRESS = re.compile(r"/T/([^/?#]*)")
_GROUPS = (slice(0, 3), slice(3, 6), slice(6, LENGTH))
_NARROW_NO_BREAK_SPACE = "\u202f"


class TagCodeError(ValueError):
    """A text that is no tag code.

    `code` says why: 'length', 'character' or 'check' (one character wrong, or two neighbours swapped: nobody can
    say which). `text` is what was judged, normalised; `position` counts from 0 in it and is None unless one
    character is to blame; `could_be` holds characters that this one may have been read for, or nothing.
    """

    def __init__(self, code: str, text: str, position: int | None = None) -> None:
        self.code, self.text, self.position = code, text, position
        self.character = "" if position is None else text[position]
        self.could_be = COULD_BE.get(self.character, "")
        super().__init__(f"no tag code ({code}): {text!r}")


def new_code(choose: Callable[[str], str] = secrets.choice) -> str:
    """A new code of LENGTH characters, unguessable (31**9 * 31/37, some 2.2e13, are possible).

    The last is the check character of ISO 7064 MOD 37-2 over the standard's own 37 characters. Where it falls
    outside ALPHABET (about one draw in six) the code is drawn anew, so that each code in use is a true standard one.
    `choose` draws a character of several; another than the usual one is for what must come out the same each time.
    """
    while True:
        drawn = "".join(choose(ALPHABET) for _ in range(LENGTH - 1))
        check_character = mod_37_2.calc_check_digit(drawn)
        if check_character in ALPHABET:
            return drawn + check_character


def normalise(text: str) -> str:
    """The bare code in capitals, out of what was typed or scanned: lower case, spaces, dashes, a tag's whole address.

    Judges nothing: whatever else stands in the text stays, for `check` to point at.
    """
    capitals = unicodedata.normalize("NFKC", text).upper()
    address = _IN_ADDRESS.search(capitals)
    return "".join(c for c in (address[1] if address else capitals) if not _is_filler(c))


def check(text: str) -> str:
    """The normalised code, or TagCodeError. The first foreign character is blamed before a wrong length is.

    Modulus 37 is prime and the weights are powers of 2, so any one wrong character and any two different
    neighbours swapped are caught, the check character included.
    """
    code = normalise(text)
    for position, character in enumerate(code):
        if character not in ALPHABET:
            raise TagCodeError("character", code, position)
    if len(code) != LENGTH:
        raise TagCodeError("length", code)
    if not mod_37_2.is_valid(code):
        raise TagCodeError("check", code)
    return code


def groups(code: str) -> tuple[str, ...]:
    """The code in groups of 3, 3 and 4, as people read it out."""
    return tuple(code[part] for part in _GROUPS)


def shown(code: str) -> str:
    """The code as shown to people: its groups set apart by a narrow no-break space."""
    return _NARROW_NO_BREAK_SPACE.join(groups(code))


def _is_filler(character: str) -> bool:
    """Spaces, dashes of any kind, and characters without a shape (such as a pasted byte-order mark)."""
    return character in "_\u2212" or unicodedata.category(character) in {"Zs", "Pd", "Cc", "Cf"}
