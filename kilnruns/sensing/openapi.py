"""The sensors' address described in OpenAPI 3.1, for whoever writes a device's program."""

from typing import Any

from kilnruns.sensing.message import MOST_BYTES, MOST_READINGS, PROBE, RANGES, SECONDS_AT_MOST

FATES = ("late", "ahead", "out_of_range", "garbled")


def description(server: str) -> dict[str, Any]:
    return {
        "openapi": "3.1.0",
        "info": {
            "title": "Drystack sensors",
            "version": "1",
            "description": "What a device measures in a kiln. Values are kept once, however often they are sent.",
        },
        "servers": [{"url": server}],
        "paths": {"/sensors/readings/": {"post": _post()}},
        "components": {
            "securitySchemes": {"device": {"type": "http", "scheme": "bearer"}},
            "schemas": {"Message": _message(), "Reading": _reading(), "Answer": _answer(), "Error": _error()},
        },
    }


def _ref(name: str) -> dict[str, str]:
    return {"$ref": f"#/components/schemas/{name}"}


def _json(name: str, text: str) -> dict[str, Any]:
    return {"description": text, "content": {"application/json": {"schema": _ref(name)}}}


def _post() -> dict[str, Any]:
    return {
        "operationId": "sendReadings",
        "summary": "Send readings; send them again when no answer came",
        "security": [{"device": []}],
        "requestBody": {"required": True, "content": {"application/json": {"schema": _ref("Message")}}},
        "responses": {
            "200": _json("Answer", "Each reading was kept, known already, or refused with a reason"),
            "400": _json("Error", "Not a message; nothing was kept"),
            "401": _json("Error", "No such token, or the device was shut out") | {"headers": _sign_in()},
            "413": _json("Error", f"Longer than {MOST_BYTES // 1024} KB; send fewer readings at a time"),
            "429": _json("Error", "Too many messages, or wrong tokens; wait") | {"headers": _wait()},
        },
    }


def _sign_in() -> dict[str, Any]:
    return {"WWW-Authenticate": {"description": "How to sign in", "schema": {"type": "string", "enum": ["Bearer"]}}}


def _wait() -> dict[str, Any]:
    return {"Retry-After": {"description": "Seconds", "schema": {"type": "integer"}}}


def _message() -> dict[str, Any]:
    return {
        "type": "object",
        "required": ["readings"],
        "properties": {"readings": {"type": "array", "maxItems": MOST_READINGS, "items": _ref("Reading")}},
    }


def _reading() -> dict[str, Any]:
    ranges = "; ".join(f"{name} {low:g} to {high:g}" for name, (low, high) in RANGES.items())
    return {
        "type": "object",
        "required": ["quantity", "value"],
        "properties": {
            "quantity": {"type": "string", "enum": [str(name) for name in RANGES]},
            "value": {"type": "number", "description": f"In the unit that the quantity names: {ranges}"},
            "at": {
                "description": "When it was measured; the moment of arrival if left out",
                "oneOf": [{"type": "string", "format": "date-time"}, _seconds()],
            },
            "probe": {
                "type": "string",
                "pattern": f"^{PROBE.pattern}$",
                "description": "Tells several of a kind apart",
            },
        },
    }


def _seconds() -> dict[str, Any]:
    most = SECONDS_AT_MOST
    return {"type": "number", "description": "Seconds since 1970", "minimum": -most, "maximum": most}


def _answer() -> dict[str, Any]:
    refused = {
        "type": "object",
        "required": ["index", "fate", "why"],
        "properties": {
            "index": {"type": "integer", "minimum": 0},
            "fate": {"type": "string", "enum": list(FATES)},
            "why": {"type": "string"},
        },
    }
    return {
        "type": "object",
        "required": ["kept", "doubled", "refused"],
        "properties": {
            "kept": {"type": "integer", "minimum": 0},
            "doubled": {"type": "integer", "minimum": 0},
            "refused": {"type": "array", "items": refused},
        },
    }


def _error() -> dict[str, Any]:
    return {"type": "object", "required": ["error"], "properties": {"error": {"type": "string"}}}
