"""Every door of the core: what its words say of units, range, errors and source, and that absurd input is refused."""

import importlib
import inspect
import pkgutil
import re
from collections.abc import Callable, Iterator
from typing import Any

import numpy as np
import pytest

import drying
from tests.drying.doors import CALLS

UNITS = re.compile(r"mm|°C|%|\bg\b|kg|Pa|\bK\b|m2|m3|days|kWh|pieces|fraction|no unit|inch|feet|pounds|°F|W\b")
SOURCES = re.compile(
    r"WH |ASHRAE|EN \d|ISO \d|AH-188|FPL|James|Siau|Wengert|Simpson|Clopper|Student|Gilmore|drying method"
    r"|[Gg]eometry|[Dd]efinition|no source|choice|recalled|from memory"
)
ERRORS = re.compile(r"ValueError|KeyError|refused")
# Doors that take no number of a measured quantity, or are the hot loop behind a door; each with why.
UNCHECKED = {
    "climate.day_of_year": "whole ordinals; any day has one",
    "climate.air_of_year": "takes a Climate, checked when made",
    "climate.lowest_equilibrium_pct": "takes a Climate, checked when made",
    "diffusion.average": "hot loop, behind Boards.of and start",
    "diffusion.step": "hot loop; its seconds are checked below, the rest when made",
    "diffusivity.saturation": "hot loop, behind Air.of",
    "diffusivity.activity_row": "hot loop, behind Air.of",
    "diffusivity.tabulated_activity": "hot loop, behind Air.of",
    "diffusivity.fit_position": "hot loop, behind Air.of",
    "diffusivity.parabola": "hot loop, behind Air.of and Wood",
    "forecast.forecast": "takes StackInput, checked when made; its horizon below",
    "forecast.simulate": "makes a StackInput, checked there (test_forecast)",
    "forecast.simulate_all": "takes StackInput, checked when made",
    "heatloss.air_changes_per_h": "takes Shut, checked when made (test_heatloss)",
    "heatloss.pooled_leak": "takes Shut, checked when made (test_heatloss)",
    "heatloss.pooled_walls": "takes what walls gives; those that can't be are left out (test_heatloss)",
    "heatloss.terms": "takes RunHeat, checked when made (test_heatloss)",
    "heatloss.walls": "takes RunHeat, checked when made (test_heatloss)",
    "heat.run_tables": "takes RunRequest, checked when made",
    "lanes.best_fit_decreasing": "rule of pack, which checks",
    "lanes.first_fit_decreasing": "rule of pack, which checks",
    "learning.learn": "takes Evidence, checked when made (below)",
    "load.lay_out": "takes Board and Space, checked when made (below)",
    "load.lay_out_packs": "takes Pack and Space, checked when made (below)",
    "operating.phase_due": "takes a Standing and a Finish, made by standing and finish, which check",
    "outcome.deviations": "takes Account, checked when made (test_outcome)",
    "offers.by_code": "takes Lumber, checked when made",
    "honoured.breaches": "looks at a plan; never raises for its content",
    "plan.clashes": "takes Lumber, KilnOffer and Fixing, checked when made",
    "plan.plan": "takes Lumber and KilnOffer, checked when made; its horizon and seconds in test_plan",
    "rates.outdoor_climate": "takes a name: KeyError (test_rates)",
    "rates.refitted": "takes nothing; what it gives is compared with the packaged table (test_rates)",
    "ownschedule.written_code": "takes a code; what is none is refused (test_ownschedule)",
    "ownschedule.harder_than": "takes schedules, checked when made",
    "ownschedule.in_order": "takes steps, checked when made",
    "sampleboards.choose": "takes Sampled, checked when made (test_sampleboards)",
    "schedules.schedule": "takes a code: KeyError (test_schedules)",
    "schedules.mildest": "takes schedules; none is refused (below)",
    "uses.usual_target_pct": "takes a key; an unknown one is refused (test_uses)",
    "species.green_pct": "takes a Species and a part; an unknown part is refused (test_species)",
    "tally.parse_widths": "takes text; refused word by word (test_tally)",
    "verify.verify": "looks at a plan; never raises for its content",
    "weather.gaps": "takes days of the calendar; any will do",
    "weather.observed_air": "takes a Climate and a Log, checked when made",
    "weathersheet.read": "takes text; refused row by row (test_weathersheet)",
    "weathersheet.write": "takes Day, checked when made",
    "watch.published_safe_rate_pct_per_day": "takes a name: KeyError (test_watch)",
}
# No door: guards themselves and packaged tables. `units`: a conversion holds for any number (it says so).
NO_DOORS = {"ranges", "tables", "units"}


def doors() -> Iterator[tuple[str, Callable[..., Any]]]:
    """Name and function of every public function that a module of `drying` has or re-exports in `__all__`."""
    for info in pkgutil.iter_modules(drying.__path__):
        module = importlib.import_module(f"drying.{info.name}")
        if info.name in NO_DOORS or info.ispkg:
            continue
        shown = getattr(module, "__all__", ())
        for name, value in vars(module).items():
            home = inspect.unwrap(value).__module__ if callable(value) and hasattr(value, "__wrapped__") else None
            home = home or getattr(value, "__module__", "")
            own = home == module.__name__ or name in shown
            if not name.startswith("_") and own and inspect.isroutine(inspect.unwrap(value)):
                yield f"{info.name}.{name}", value


DOORS = dict(doors())
CHECKED = {inspect.unwrap(call) for call, _ in CALLS}


def test_there_are_doors():
    assert len(DOORS) > 80


@pytest.mark.parametrize("name", DOORS)
def test_words_tell_units_source_and_errors(name):
    """In the docstring, or for source and errors in that of its module."""
    function = inspect.unwrap(DOORS[name])
    own = inspect.getdoc(function) or ""
    modules = (
        importlib.import_module(place).__doc__ or "" for place in (f"drying.{name.split('.')[0]}", function.__module__)
    )
    whole = "\n".join((own, *modules))
    assert UNITS.search(own), "no unit"
    assert SOURCES.search(whole), "no source"
    assert ERRORS.search(whole), "no word on errors"


def test_every_door_is_tried_or_says_why_not():
    missing = [name for name, one in DOORS.items() if inspect.unwrap(one) not in CHECKED and name not in UNCHECKED]
    assert missing == []


def numbers(arguments: dict[str, Any]) -> list[str]:
    return [
        name
        for name, value in arguments.items()
        if isinstance(value, int | float | np.ndarray) and not isinstance(value, bool)
    ]


TRIED = [(call, arguments, name) for call, arguments in CALLS for name in numbers(arguments)]


@pytest.mark.parametrize("call", CALLS, ids=lambda pair: getattr(pair[0], "__qualname__", str(pair[0])))
def test_the_good_calls_are_good(call):
    function, arguments = call
    function(**arguments)


@pytest.mark.parametrize(("call", "arguments", "name"), TRIED)
def test_absurd_numbers_are_refused(call, arguments, name):
    """NaN, a huge and a hugely negative one in place of each number (in an array: of its first value)."""
    for absurd in (np.nan, 1e12, -1e12):
        value = arguments[name]
        many = isinstance(value, np.ndarray) and value.ndim
        bad = np.concatenate([[absurd], value[1:]]) if many else absurd
        with pytest.raises(ValueError) as refused:
            call(**{**arguments, name: bad})
        words = str(refused.value)
        assert re.search(r"nan|1e\+12|swapped|range|outside|too|above|fit", words), words


@pytest.mark.parametrize(
    ("call", "words"),
    [
        ("diffusion.step", "seconds -1 are outside"),
        ("diffusion.step nan", "seconds nan are outside"),
        ("forecast.forecast", "horizon of 9 days is outside 30 to 3000"),
        ("learning.Evidence", "deviation of a stack's rate \\(log\\) nan is outside"),
        ("learning.Evidence sd", "spread of a stack's rate \\(log\\) 0 is outside"),
        ("learning.RunOutcome", "days that a run took nan days is outside"),
        ("load.Board", "length_mm of a board is nan"),
        ("load.Pack", "height_mm of a pack is -1"),
        ("load.Space", "sticker_mm is nan"),
        ("schedules.mildest", "no schedule given"),
    ],
)
def test_doors_of_another_shape(call, words):
    from drying import diffusion, forecast, learning, load, schedules
    from tests.drying.doors import OAK

    boards = diffusion.Boards.of(OAK, 27)
    state = diffusion.start(boards, 0.8)
    tries = {
        "diffusion.step": lambda: diffusion.step(state, boards, diffusion.Air.of(20, 65), -1.0),
        "diffusion.step nan": lambda: diffusion.step(state, boards, diffusion.Air.of(20, 65), np.nan),
        "forecast.forecast": lambda: forecast.forecast([], horizon_days=9),
        "learning.Evidence": lambda: learning.Evidence("A", "oak", "row", np.nan, 0.3),
        "learning.Evidence sd": lambda: learning.Evidence("A", "oak", "row", 0.1, 0),
        "learning.RunOutcome": lambda: learning.RunOutcome("A", 10, np.nan),
        "load.Board": lambda: load.Board("A", np.nan, 150, 27),
        "load.Pack": lambda: load.Pack("A", 4000, 1200, -1),
        "load.Space": lambda: load.Space(4000, 1200, 1500, np.nan),
        "schedules.mildest": lambda: schedules.mildest([]),
    }
    with pytest.raises(ValueError, match=words):
        tries[call]()
