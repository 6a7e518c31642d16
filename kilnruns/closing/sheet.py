"""The report as rows of figures, for a file: section, item, quantity, value, unit. The same in CSV and in JSON."""

import csv
import io
import json
from collections.abc import Iterator
from typing import Any

from django.utils.translation import gettext_lazy as _

from kilnruns.closing.account import Came
from kilnruns.closing.report import Report

COLUMNS = {
    "section": _(
        "what the row is about: charge, stack, board, account, forecast, spell, stress, degrade, record, curve"
    ),
    "item": _("which one: a stack's tag, a record's time (ISO 8601), a day of the run; empty for the whole charge"),
    "quantity": _("what is told, with its unit at the end of the name"),
    "value": _("a number with a point, or a word; empty where nothing is known"),
    "unit": _("the unit, in SI, % of oven-dry mass, or the mill's currency"),
}
FORMAT = "drystack-run-1"
RECORDED = {
    "dry_bulb_c": "°C",
    "wet_bulb_c": "°C",
    "humidity_pct": "%",
    "vents_pct": "%",
    "heater_steps": "steps",
    "meter_kwh": "kWh",
}
Row = tuple[str, str, str, Any, str]


def rows(told: Report, currency: str) -> Iterator[Row]:
    yield from _charge(told, currency)
    for lot in told.account.lots:
        yield from _stack(lot)
    yield from _boards(told)
    yield from _found(told)
    for one in told.account.deviations:
        yield "forecast", "", one.name, round(one.forecast, 3), ""
        yield "forecast", "", f"{one.name}_more_pct", _rounded(one.more_pct), "%"
    yield from _spells(told)
    yield from _records(told)
    if told.curve:
        for day, moisture in told.curve.forecast:
            yield "curve", f"{day:g}", "forecast_pct", moisture, "%"
        for dot in told.curve.dots:
            yield "curve", f"{dot.day:.2f}", f"read_pct {dot.stack.code}", _rounded(dot.moisture_pct), "%"


def _charge(told: Report, currency: str) -> Iterator[Row]:
    charge, account = told.rows.charge, told.account
    bill = account.bill
    figures: list[tuple[str, Any, str]] = [
        ("kiln", str(charge.kiln), ""),
        ("started", told.rows.began and told.rows.began.isoformat(), "ISO 8601"),
        ("unloaded", told.rows.ended and told.rows.ended.isoformat(), "ISO 8601"),
        ("schedule", charge.course.get("code", ""), ""),
        ("target_pct", charge.target_pct, "%"),
        ("green_m3", account.green_m3, "m³"),
        ("dry_m3", account.dry_m3, "m³"),
        ("moisture_before_pct", account.before_pct, "%"),
        ("moisture_after_pct", account.after_pct, "%"),
        ("water_kg", account.water_kg, "kg"),
        ("days", account.days, "days"),
        ("electricity_kwh", account.energy.kwh, "kWh"),
        ("electricity_source", account.energy.source, ""),
        ("electricity_unheard_h", account.energy.gap_hours, "h"),
        *_checked(account),
        ("cost_energy", bill.energy, currency),
        ("cost_labour", bill.labour, currency),
        ("cost_kiln", bill.kiln, currency),
        ("cost_per_green_m3", bill.per_m3, f"{currency}/m³"),
        ("cost_per_dry_m3", bill.per_dry_m3, f"{currency}/m³"),
    ]
    for quantity, value, unit in figures:
        yield "charge", "", quantity, _rounded(value), unit


def _checked(account: Came) -> list[tuple[str, Any, str]]:
    """Both meters over the stretch that both tell of."""
    checked = account.energy.checked
    if checked is None:
        return []
    return [
        ("electricity_noted_kwh", checked.noted_kwh, "kWh"),
        ("electricity_sensed_kwh", checked.sensed_kwh, "kWh"),
    ]


def _stack(lot: Any) -> Iterator[Row]:
    stack = lot.item.stack
    figures = [
        ("species", stack.species.kept_name, ""),
        ("thickness_mm", stack.thickness_mm, "mm"),
        ("green_m3", lot.green_m3, "m³"),
        ("dry_m3", lot.dry_m3, "m³"),
        ("moisture_before_pct", lot.before_pct, "%"),
        ("before_is_forecast", "yes" if lot.before_forecast else "no", ""),
        ("moisture_after_pct", lot.after_pct, "%"),
        ("water_kg", lot.water_kg, "kg"),
    ]
    for quantity, value, unit in figures:
        yield "stack", stack.code, quantity, _rounded(value), unit


def _boards(told: Report) -> Iterator[Row]:
    for one in told.stacks:
        if one.last is None:
            continue
        for value in one.last.reading.corrected_pct:
            yield "board", one.stack.code, "moisture_pct", value, "%"
        for core, shell in one.last.pairs_pct:
            yield "board", one.stack.code, "core_pct", core, "%"
            yield "board", one.stack.code, "shell_pct", shell, "%"
        for size in one.last.dried_mm:
            yield "board", one.stack.code, "thickness_mm", size, "mm"


def _found(told: Report) -> Iterator[Row]:
    verdict = told.whole.verdict if told.whole else None
    if verdict:
        yield "account", "", "en_14298", "kept" if verdict.passes else "missed", ""
        yield "account", "", "share_inside_pct", _rounded(verdict.share_inside_pct), "%"
    if told.whole and told.whole.spread:
        yield "account", "", "sd_pct", _rounded(told.whole.spread.sd_pct), "%"
    for said in told.stress.tests:
        yield "stress", said.test.at.isoformat(), said.test.kind, said.verdict or "waiting", ""
    codes = {lot.item.stack_id: lot.item.stack.code for lot in told.account.lots}
    for row in told.degrade:
        yield "degrade", codes.get(row.stack_id, ""), f"{row.kind}_pct", row.share_pct, "%"


def _spells(told: Report) -> Iterator[Row]:
    for one in told.spells:
        begin = f"{one.day:.2f}"
        yield "spell", begin, "set_to", f"step {one.step}" if one.step else one.phase, ""
        yield "spell", begin, "hours", round(one.hours, 1), "h"
        yield "spell", begin, "dry_bulb_c", _rounded(one.dry_bulb_c), "°C"
        yield "spell", begin, "emc_pct", _rounded(one.emc_pct), "%"


def _records(told: Report) -> Iterator[Row]:
    for row in told.rows.records:
        for name, unit in RECORDED.items():
            if getattr(row, name) is not None:
                yield "record", row.at.isoformat(), name, getattr(row, name), unit


def _rounded(value: Any) -> Any:
    return round(value, 3) if isinstance(value, float) else "" if value is None else value


def as_csv(told: Report, currency: str) -> str:
    """A header and one row a figure. A word that a spreadsheet would take for a formula gets a quote before it."""
    out = io.StringIO()
    writer = csv.writer(out)
    writer.writerow(COLUMNS)
    writer.writerows([_safe(cell) for cell in row] for row in rows(told, currency))
    return out.getvalue()


def _safe(cell: Any) -> Any:
    return f"'{cell}" if isinstance(cell, str) and cell[:1] in "=+-@\t" and cell else cell


def as_json(told: Report, currency: str) -> str:
    """The same with its columns explained."""
    table = [dict(zip(COLUMNS, row, strict=True)) for row in rows(told, currency)]
    columns = {name: str(words) for name, words in COLUMNS.items()}
    return json.dumps({"format": FORMAT, "columns": columns, "rows": table}, ensure_ascii=False, indent=1)
