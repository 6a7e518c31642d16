"""Scanning: typed codes and photos."""

from io import BytesIO

import pytest
import qrcode
from django.core.files.uploadedfile import SimpleUploadedFile
from PIL import Image

from tests.factories import TagFactory
from yard.models.tagcode import check

pytestmark = pytest.mark.django_db


def photo_of(*texts):
    """A photo with the QR symbols of some texts beside each other."""
    symbols = [qrcode.make(text).get_image().convert("RGB") for text in texts]
    picture = Image.new("RGB", (sum(s.width for s in symbols), max(s.height for s in symbols)), "white")
    left = 0
    for symbol in symbols:
        picture.paste(symbol, (left, 0))
        left += symbol.width
    out = BytesIO()
    picture.save(out, "JPEG")
    return SimpleUploadedFile("photo.jpg", out.getvalue(), "image/jpeg")


def test_a_typed_code_leads_to_its_tag_in_any_case_and_with_gaps(signed_in):
    code = TagFactory().code
    typed = f" {code[:3]} {code[3:6]}-{code[6:]} ".lower()
    response = signed_in.post("/scan/", {"code": typed})
    assert (response.status_code, response["Location"]) == (302, f"/t/{code}")


def test_a_photo_of_a_tag_leads_to_it(signed_in):
    code = TagFactory().code
    response = signed_in.post("/scan/", {"photo": photo_of(f"HTTPS://YARD.EXAMPLE/T/{code}")})
    assert (response.status_code, response["Location"]) == (302, f"/t/{code}")


def test_several_tags_in_one_photo_are_offered(signed_in):
    codes = [TagFactory().code, TagFactory().code]
    response = signed_in.post("/scan/", {"photo": photo_of(*(f"HTTPS://YARD.EXAMPLE/T/{code}" for code in codes))})
    assert response.status_code == 200
    assert sorted(response.context["codes"]) == sorted(codes)
    for code in codes:
        assert f'href="/t/{code}"' in response.content.decode()


def test_a_photo_without_a_tag_says_how_to_take_a_better_one(signed_in):
    response = signed_in.post("/scan/", {"photo": photo_of("https://elsewhere.example/")})
    assert response.status_code == 422
    assert "Go closer" in response.content.decode()


def test_a_file_that_is_no_photo_is_refused_at_its_field(signed_in):
    response = signed_in.post("/scan/", {"photo": SimpleUploadedFile("photo.jpg", b"none", "image/jpeg")})
    assert response.status_code == 422
    assert "can't be read as a photo" in response.context["form"].errors["photo"][0]


def mistyped(code):
    """The code with one character exchanged so that the check fails."""
    other = "A" if code[0] != "A" else "B"
    return other + code[1:]


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        ("", "Type the ten characters"),
        ("ABC", "A code has 10 characters; these are 3."),
        ("0BCDEFGHJK", "Is it D or Q?"),
    ],
)
def test_a_code_that_is_none_is_refused_with_a_hint(signed_in, typed, said):
    response = signed_in.post("/scan/", {"code": typed})
    assert response.status_code == 422
    assert said in response.context["form"].errors["code"][0]


def test_a_slip_is_refused_and_what_was_typed_stays(signed_in):
    wrong = mistyped(TagFactory().code)
    response = signed_in.post("/scan/", {"code": wrong})
    assert response.status_code == 422
    assert "One character is wrong" in response.context["form"].errors["code"][0]
    assert f'value="{wrong}"' in response.content.decode()
    with pytest.raises(ValueError, match="check"):
        check(wrong)


def test_scanning_needs_signing_in(client):
    assert client.get("/scan/")["Location"] == "/sign-in/?next=/scan/"
