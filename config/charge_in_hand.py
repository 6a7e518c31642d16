"""Context processor: the charge in hand, so that the page of a scanned tag can offer to check its stack in or out."""

from typing import Any

from django.http import HttpRequest


def charge_in_hand(request: HttpRequest) -> dict[str, Any]:
    """`loading_in_hand` on the page of a stack of the charge loaded or unloaded now, or of a board in it. No query."""
    kept = getattr(request, "session", {}).get("loading")
    code = _stack_asked_for(request, kept.get("boards", {})) if kept else ""
    return {"loading_in_hand": {**kept, "code": code}} if kept and code in kept["codes"] else {}


def _stack_asked_for(request: HttpRequest, boards: dict[str, str]) -> str:
    match = request.resolver_match
    code = match.kwargs.get("code", "").upper() if match else ""
    return {"stack": code, "board": boards.get(code, "")}.get(match.url_name or "", "") if match else ""
