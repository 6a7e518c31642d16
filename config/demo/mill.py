"""People, places, kilns and needs of the demo mill, from fixtures/demo_mill.toml."""

import tomllib
from datetime import date, timedelta
from typing import Any

from django.conf import settings
from django.contrib.auth import get_user_model

from kilnruns.actions.kilns import save_kiln
from kilnruns.models import Closure, DayOff, Kiln
from yard import outlook
from yard.actions.needs import add_line
from yard.actions.people import new_password, set_role
from yard.models import Mill, Need, Place, Species
from yard.models.keptwords import of_climate


def read() -> dict[str, Any]:
    return tomllib.loads((settings.BASE_DIR / "fixtures" / "demo_mill.toml").read_text())


def set_people(rows: list[dict[str, Any]]) -> list[tuple[str, str]]:
    """Make the demo's people, or give them new passwords; returns (name, password) to be shown once."""
    shown = []
    for row in rows:
        named = {"first_name": row["first_name"]}
        user, _ = get_user_model().objects.get_or_create(username=row["username"], defaults=named)
        set_role(person=user, role=row["role"], by=None)
        password = new_password()
        user.set_password(password)
        user.save()
        shown.append((row["username"], password))
    return shown


def make_places(mill: dict[str, Any]) -> dict[str, Place]:
    presets = {preset.key: preset for preset in outlook.climate_presets()}
    climate = presets[mill["climate"]]
    return {
        row["name"]: Place.objects.create(
            name=row["name"],
            kind=row["kind"],
            temperatures_c=list(climate.temperatures_c),
            humidities_pct=list(climate.humidities_pct),
            climate_note=of_climate(climate.key),
        )
        for row in mill["places"]
    }


def make_mill(mill: dict[str, Any], today: date, owner: Any) -> dict[str, Place]:
    """The mill's rows but its stacks; returns its places by name."""
    Mill.objects.create(pk=1, name=mill["name"], currency=mill["currency"])
    places = make_places(mill)
    kilns = {row["name"]: make_kiln(row, owner) for row in mill["kilns"]}
    for row in mill["closures"]:
        first = today + timedelta(days=row["from_day"])
        last = first + timedelta(days=row["days"] - 1)
        Closure.objects.create(kiln=kilns[row["kiln"]], first_day=first, last_day=last, reason=row["reason"])
    for row in mill["days_off"]:
        first = today + timedelta(days=row["from_day"])
        last = first + timedelta(days=row["days"] - 1)
        DayOff.objects.create(first_day=first, last_day=last, reason=row["reason"])
    for row in mill["needs"]:
        make_need(row, today)
    return places


def make_kiln(row: dict[str, Any], owner: Any) -> Kiln:
    values = {name: value for name, value in row.items() if name != "name"}
    return save_kiln(kiln=Kiln(**values), name=row["name"], by=owner)


def make_need(row: dict[str, Any], today: date) -> Need:
    values = {name: value for name, value in row.items() if name not in ("lines", "in_days")}
    need = Need.objects.create(wanted_by=today + timedelta(days=row["in_days"]), **values)
    for line in row["lines"]:
        fields = {name: value for name, value in line.items() if name != "species"}
        add_line(need=need, species=Species.objects.filter(key__in=line["species"]), by=None, **fields)
    return need
