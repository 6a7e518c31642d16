"""What is kept in a browser and not with a person: how its pages look, their language, what was put away."""

from django.conf import settings
from django.http import HttpRequest, HttpResponse


def keep(
    request: HttpRequest, response: HttpResponse, name: str, value: str, *, seconds: int = 0, scripts: bool = False
) -> None:
    """For as long as a phone stays signed in, or `seconds`; `scripts` of ours may read it where they need to.

    Sent back over https alone where this request came so: what the settings say doesn't count, since a yard at home is
    served by https with them as they were.
    """
    response.set_cookie(
        name,
        value,
        max_age=seconds or settings.SESSION_COOKIE_AGE,
        secure=request.is_secure(),
        httponly=not scripts,
        samesite="Lax",
    )
