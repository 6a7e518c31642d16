"""Context processor: the charge in hand, so that the page of a scanned stack can offer to check it in or out."""

from typing import Any

from django.http import HttpRequest


def loading(request: HttpRequest) -> dict[str, Any]:
    """`loading_in_hand` on the page of a stack that belongs to the charge being loaded or unloaded; no query."""
    kept = getattr(request, "session", {}).get("loading")
    match = request.resolver_match
    code = match.kwargs.get("code", "").upper() if match and match.url_name == "stack" else ""
    if not kept or code not in kept["codes"]:
        return {}
    return {"loading_in_hand": {**kept, "code": code}}
