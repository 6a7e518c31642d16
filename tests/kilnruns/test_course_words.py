"""What a charge's page says of conditioning: the hours it takes, or that the kiln can't."""

from typing import Any

from django.template.loader import render_to_string

RUN: dict[str, Any] = {
    "reached": True,
    "days": 20.6,
    "heater_kwh": 900,
    "fan_kwh": 120,
    "peak_kw": 6.2,
    "limits": {"schedule": 0.9, "heater": 0.1, "vents": 0.0, "leak": 0.0},
}


def words(conditioning: dict[str, Any] | None) -> str:
    return render_to_string("kilnruns/_course.html", {"run": RUN | {"conditioning": conditioning}})


def test_conditioning_is_told_with_hours_and_energy() -> None:
    said = words({"hours": 22, "kwh": 36, "held_emc_pct": 12.0, "notes": []})
    assert "some 22 hours" in said
    assert "36" in said
    assert "can dry" not in said


def test_a_kiln_that_cannot_says_how_damp_it_gets() -> None:
    said = words({"hours": 0, "kwh": 0, "held_emc_pct": 4.2, "notes": ["cannot_condition"]})
    assert "no damper than about 4" in said
    assert "takes some" not in said


def test_older_courses_and_air_dry_runs_say_nothing_of_it() -> None:
    assert "stress" not in words(None)
    assert "stress" not in render_to_string("kilnruns/_course.html", {"run": RUN})
