"""What browsers are told to keep from others, on every answer: pages, files, redirects and refusals."""

from collections.abc import Callable

from django.http import HttpRequest, HttpResponse

# What a page could ask a phone for and never needs here. The camera is for scanning tags.
UNWANTED = ("accelerometer", "display-capture", "geolocation", "gyroscope", "magnetometer", "microphone", "midi",
            "payment", "usb")  # fmt: skip
HEADERS = {
    "Permissions-Policy": ", ".join(["camera=(self)", *(f"{name}=()" for name in UNWANTED)]),
    "Cross-Origin-Resource-Policy": "same-origin",
}


class HeadersMiddleware:
    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        response = self.get_response(request)
        for name, value in HEADERS.items():
            response.headers.setdefault(name, value)
        return response
