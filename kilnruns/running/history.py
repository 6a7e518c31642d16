"""What a kiln's sensors told over a run, thinned for a drawing: the air, and the wood's moisture by its probes."""

from bisect import bisect_right
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime

from drying import air
from kilnruns.models import Kiln, Quantity, SensorSeries
from kilnruns.sensing.series import Point, points_of
from yard import outlook
from yard.models import Species

POINTS = 160  # across a drawing of a phone's width
LIKE_AIR_S = 3 * 3600  # so near in time an air temperature stands in for the wood's; a choice
ASSUMED_C = 20.0
Line = tuple[tuple[datetime, float], ...]


@dataclass(frozen=True, slots=True)
class Probe:
    """One probe's moisture over time, %. `read_as`: the wood whose curve its resistance was read by, None where the
    probe told moisture itself; `own_curve`: whether that wood has one."""

    name: str
    line: Line
    read_as: Species | None = None
    own_curve: bool = True


@dataclass(frozen=True, slots=True)
class History:
    """Lines of (when, value): dry and wet bulb in °C of each device, and the probes."""

    dry_bulb: tuple[Line, ...] = ()
    wet_bulb: tuple[Line, ...] = ()
    probes: tuple[Probe, ...] = ()

    def __bool__(self) -> bool:
        return bool(self.dry_bulb or self.wet_bulb or self.probes)


def history(kiln: Kiln, began: datetime, ended: datetime, woods: Sequence[Species]) -> History:
    """Of a kiln, its place at hand, from one moment to another; three queries. `woods`: what is in it, the most of it
    first: by the first one's curve the probes' resistance is read."""
    drawn = [one for one in Quantity.values if one not in (Quantity.POWER, Quantity.ENERGY)]
    series = list(SensorSeries.objects.filter(device__kiln=kiln, quantity__in=drawn).select_related("device"))
    first, last = int(began.timestamp()), int(ended.timestamp()) + 1
    if not series or last <= first:
        return History()
    found = points_of([one.pk for one in series], first, last, POINTS)
    told = {(one.device_id, one.quantity, one.probe): found[one.pk] for one in series if found[one.pk]}
    names = {one.device_id: one.device.name for one in series}
    return History(
        dry_bulb=tuple(_line(points) for (_d, what, _p), points in told.items() if what == Quantity.DRY_BULB),
        wet_bulb=tuple(_wet_bulbs(told, float(air.pressure_pa(kiln.place.altitude_m)))),
        probes=tuple(_probes(told, names, woods)),
    )


Told = Mapping[tuple[int, str, str], Sequence[Point]]


def _at(second: int) -> datetime:
    return datetime.fromtimestamp(second, tz=UTC)


def _line(points: Sequence[Point]) -> Line:
    return tuple((_at(one.second), one.mean) for one in points)


def _wet_bulbs(told: Told, pressure_pa: float) -> list[Line]:
    """As measured, or from the humidity with the same device's dry bulb."""
    found = [_line(points) for (_d, what, _p), points in told.items() if what == Quantity.WET_BULB]
    for (device, what, probe), points in told.items():
        dry = told.get((device, Quantity.DRY_BULB, probe)) or told.get((device, Quantity.DRY_BULB, ""))
        if what != Quantity.HUMIDITY or not dry or (device, Quantity.WET_BULB, probe) in told:
            continue
        pairs = [(one.second, _near(dry, one.second), one.mean) for one in points]
        known = [(second, warm, damp) for second, warm, damp in pairs if warm is not None and 0 <= warm <= 99]
        if known:
            wet = air.wet_bulb_c([warm for _s, warm, _h in known], [damp for _s, _w, damp in known], pressure_pa)
            found.append(tuple((_at(known[n][0]), float(one)) for n, one in enumerate(wet)))
    return found


def _probes(told: Told, names: Mapping[int, str], woods: Sequence[Species]) -> list[Probe]:
    found = []
    for (device, what, probe), points in told.items():
        name = f"{names[device]} {probe}".strip()
        if what == Quantity.WOOD_MOISTURE:
            found.append(Probe(name, _line(points)))
        elif what == Quantity.WOOD_RESISTANCE and woods:
            warm = [_wood_c(told, device, probe, one.second) for one in points]
            pcts = outlook.probe_moisture_pct([one.mean for one in points], warm, woods[0])
            pairs = zip(points, pcts, strict=True)
            line = tuple((_at(one.second), pct) for one, pct in pairs if pct is not None)
            if line:
                found.append(Probe(name, line, woods[0], outlook.has_probe_curve(woods[0])))
    return found


def _wood_c(told: Told, device: int, probe: str, second: int) -> float:
    """The probe's own temperature, else the device's for the wood, else its air, else that of a heated room."""
    for key in (
        (device, Quantity.WOOD_TEMPERATURE, probe),
        (device, Quantity.WOOD_TEMPERATURE, ""),
        (device, Quantity.DRY_BULB, probe),
        (device, Quantity.DRY_BULB, ""),
    ):
        warm = _near(told.get(key, ()), second)
        if warm is not None:
            return warm
    return ASSUMED_C


def _near(points: Sequence[Point], second: int) -> float | None:
    """The value last told by then, not too long before."""
    place = bisect_right(points, second, key=lambda one: one.second)
    before = points[place - 1] if place else None
    return before.mean if before and second - before.second <= LIKE_AIR_S else None
