"""The drying model against analysis, against other solvers, and against itself."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import solve_ivp
from scipy.optimize import brentq

from drying import diffusion, diffusivity
from drying.air import latent_heat_j_kg, vapour_concentration_kg_m3
from drying.diffusion import Air, Boards, Wood, cell_widths, start, step
from drying.stepping.sweep import Swept

OAK = Wood(560, 1, 0.41, 0.45)
SPRUCE = Wood(380, 5, 0.35, 0.45, "softwood")


def days_to(wood, thickness_mm, green, target, air, hours=6.0, cells=None, rate=None):
    widths = None if cells is None else cell_widths(cells, 1.08)
    boards = Boards.of(wood, thickness_mm, widths=widths, rate=rate)
    state, days = start(boards, np.asarray(green)), 0.0
    while True:
        before = float(state.average)
        state = step(state, boards, air, hours * 3600)
        days += hours / 24
        if state.average <= target:
            return days - hours / 24 * (target - float(state.average)) / (before - float(state.average))


def test_constant_diffusion_follows_the_analytic_series(monkeypatch):
    """A plate with constant D whose face is at equilibrium at once: E = 8/pi2 sum (2n+1)^-2 exp(-(2n+1)^2 pi2 D t/4 L2)
    (Crank, The Mathematics of Diffusion, eq. 4.18, from memory)."""
    coefficient, half = 5e-11, 0.0125
    monkeypatch.setattr(diffusivity, "parabola", lambda *_: np.array([np.log(coefficient), 0.0, 0.0]))
    boards = Boards.of(OAK, 25.0, rate=1.0, transfer_m_s=10.0, widths=cell_widths(30, 1.05))
    air = Air.of(20.0, 65.0)
    state = start(boards, np.asarray(0.25))
    low = float(air.equilibrium)
    n = 2 * np.arange(60) + 1
    for hour in range(1, 24 * 30 + 1):
        state = step(state, boards, air, 3600.0)
        if hour % 120 == 0:
            ours = (float(state.average) - low) / (0.25 - low)
            decay = np.exp(-(n**2) * np.pi**2 * coefficient * hour * 3600 / (4 * half**2))
            assert ours == pytest.approx(8 / np.pi**2 * (decay / n**2).sum(), abs=0.006)


@pytest.mark.parametrize("hours", [6.0, 24.0])
@pytest.mark.parametrize(("remaining", "late_days"), [(0.5, {6.0: 0.30, 24.0: 0.55}), (0.2, {6.0: 0.75, 24.0: 1.3})])
def test_usual_cells_against_the_analytic_series(monkeypatch, hours, remaining, late_days):
    """The six cells of a forecast, constant D: 3.4 % late with six-hour steps, 6 to 7 % with daily ones, of a drying of
    7 and 20 days; more cells bring it to the series (above). Same source."""
    coefficient, half = 5e-11, 0.0125
    monkeypatch.setattr(diffusivity, "parabola", lambda *_: np.array([np.log(coefficient), 0.0, 0.0]))
    n = 2 * np.arange(60) + 1

    def left(days):
        decay = np.exp(-(n**2) * np.pi**2 * coefficient * days * 86400 / (4 * half**2))
        return 8 / np.pi**2 * (decay / n**2).sum() - remaining

    boards, air = Boards.of(OAK, 25.0, rate=1.0, transfer_m_s=10.0), Air.of(20.0, 65.0)
    low, state, courses = float(air.equilibrium), start(boards, np.asarray(0.25)), [1.0]
    while courses[-1] > remaining:
        state = step(state, boards, air, hours * 3600)
        courses.append((float(state.average) - low) / (0.25 - low))
    ours = hours / 24 * float(np.interp(-remaining, -np.array(courses), np.arange(len(courses))))
    assert 0 < ours - brentq(left, 0.1, 100) < late_days[hours]


@pytest.mark.parametrize(
    ("wood", "thickness_mm", "green", "late", "late_daily_days"),
    [
        *[(OAK, 15, 0.8, 0.03, 1.6), (OAK, 27, 0.8, 0.03, 3.0), (OAK, 27, 2.0, 0.03, 3.5), (OAK, 60, 0.8, 0.03, 6.0)],
        *[(SPRUCE, 15, 0.8, 0.03, 1.2), (SPRUCE, 27, 0.8, 0.03, 1.5), (SPRUCE, 100, 2.0, 0.02, 4.0)],
    ],
)
def test_coarse_cells_and_steps_against_a_fine_solution(wood, thickness_mm, green, late, late_daily_days):
    """40 cells and two-hour steps, 15 to 100 mm, to 200 %; the usual 6 or 8 cells with 6 h steps are late by 3 % at
    most, with daily steps by about a day (15 mm) to 2 % (thick)."""
    air = Air.of(18.0, 68.0)
    fine = days_to(wood, thickness_mm, green, 0.20, air, hours=2.0, cells=40)
    coarse = days_to(wood, thickness_mm, green, 0.20, air)
    daily = days_to(wood, thickness_mm, green, 0.20, air, hours=24.0)
    assert 0 < coarse / fine - 1 < late
    assert 0 < daily - fine < late_daily_days


def test_from_frost_to_the_hot_kiln():
    """-20 to 90 °C: the warmer the air of one humidity, the drier the board, without a leap; none of it is negative."""
    air = Air.of(np.arange(-20.0, 91.0, 5.0), 65.0)
    for wood, thickness_mm in ((OAK, 15.0), (OAK, 100.0), (SPRUCE, 50.0)):
        boards = Boards.of(wood, thickness_mm)
        state = start(boards, np.full(23, 2.0))
        for _ in range(80):
            state = step(state, boards, air, 43200)
        assert (np.diff(state.average) < 1e-3).all()
        assert (np.abs(np.diff(state.average)) < 0.7).all()
        assert (state.profile >= air.equilibrium - 1e-9).all()


def _rates(moisture, widths_m, wood, transfer, temperature_c, humidity):
    """dM/dt of the same physics written anew for scipy: theory in place of tables, the surface's heat and water balance
    solved by bracketing at each call."""
    saturation = float(diffusivity.saturation(temperature_c))

    def coefficient(m):
        at = diffusivity.siau_m2_s(m, temperature_c, wood.basic_density_kg_m3 / 1000)
        return at * (1 + (wood.permeability - 1) * np.clip((m - saturation) / 0.10, 0, 1))

    d = coefficient(moisture)
    apart = np.log(d[1:] / d[:-1])
    between = np.where(np.abs(apart) < 1e-6, d[1:], np.diff(d) / np.where(np.abs(apart) < 1e-6, 1, apart))
    inner = between * np.diff(moisture) / ((widths_m[1:] + widths_m[:-1]) / 2)
    in_air = humidity * float(vapour_concentration_kg_m3(temperature_c, 100))
    heat = 1006 * 1.204 * (293.15 / (temperature_c + 273.15)) * 0.90

    def evaporation(surface):
        activity = float(diffusivity.activity(surface, temperature_c))

        def balance(t):
            lost = activity * float(vapour_concentration_kg_m3(t, 100)) - in_air
            return heat * (temperature_c - t) - float(latent_heat_j_kg(t)) * lost

        at = brentq(balance, temperature_c - 40, temperature_c + 40)
        lost = activity * float(vapour_concentration_kg_m3(at, 100)) - in_air
        return transfer * lost / wood.basic_density_kg_m3

    def mismatch(surface):
        d_face = float(np.sqrt(coefficient(np.array([surface]))[0] * d[-1]))
        return d_face * (moisture[-1] - surface) / (widths_m[-1] / 2) - evaporation(surface)

    surface = brentq(mismatch, 0.01, max(moisture[-1], 0.02) + 0.05)
    out = evaporation(surface)
    flow = np.concatenate([[0.0], inner, [-out]])
    return np.diff(flow) / widths_m


@pytest.mark.parametrize(
    ("wood", "green", "temperature_c", "humidity"), [(OAK, 0.60, 20, 0.65), (SPRUCE, 0.60, 25, 0.55)]
)
def test_against_scipys_stiff_solver(wood, green, temperature_c, humidity):
    """solve_ivp (BDF, rtol 1e-4) on 9 cells of its own discretisation."""
    widths = cell_widths(9, 1.25) * 0.0125
    rate = 1.0

    def reached(_, moisture):
        return float(widths @ moisture / widths.sum()) - 0.20

    reached.terminal = True
    found = solve_ivp(
        lambda _, m: rate * _rates(m, widths, wood, diffusion.YARD_TRANSFER_M_S, temperature_c, humidity),
        (0, 200 * 86400),
        np.full(9, green),
        "BDF",
        rtol=1e-4,
        atol=1e-6,
        events=reached,
    )
    scipys = found.t_events[0][0] / 86400
    ours = days_to(wood, 25.0, green, 0.20, Air.of(temperature_c, 100 * humidity), hours=1.0, cells=40, rate=rate)
    assert ours == pytest.approx(scipys, rel=0.03)


def test_no_water_is_made_or_lost():
    """Faces shut: the average stays; faces open: what is lost is what the surface law gives off."""
    shut = Boards.of(OAK, 27.0, transfer_m_s=0.0)
    uneven = np.linspace(0.8, 0.2, 6)
    level = float(diffusion.average(uneven, shut.widths))
    state = diffusion.State(uneven, np.asarray(0.2), np.asarray(level))
    for _ in range(200):
        state = step(state, shut, Air.of(20, 65), 86400)
    assert state.average == pytest.approx(level, abs=1e-9)
    assert np.ptp(state.profile) < np.ptp(uneven) / 2

    air, boards = Air.of(20.0, 65.0), Boards.of(OAK, 27.0)
    state = start(boards, np.asarray(0.6))
    for _ in range(2000):
        before = float(state.average)
        state = step(state, boards, air, 600.0)
    activity = float(diffusivity.activity(state.surface, 20.0))
    driving = float(vapour_concentration_kg_m3(20, 100)) * (activity - 0.65) / (1 + float(air.cooling) * activity)
    given_off = boards.rate * boards.transfer_m_s * driving * 600
    lost = (before - float(state.average)) * 560 * 0.0135
    assert lost == pytest.approx(float(given_off), rel=0.02)


@settings(max_examples=40, deadline=None)
@given(
    temperature_c=st.floats(-15, 75),
    humidity=st.floats(20, 95),
    green=st.floats(0.05, 1.3),
    days=st.sampled_from([0.1, 1.0, 10.0]),
    permeability=st.sampled_from([1, 5]),
)
def test_moisture_stays_between_start_and_equilibrium(temperature_c, humidity, green, days, permeability):
    boards = Boards.of(Wood(450, permeability, 0.4, 0.45), np.array([20.0, 50.0]))
    air = Air.of(temperature_c, humidity)
    state = start(boards, np.array([green, green]))
    low, high = sorted((green, float(air.equilibrium)))
    for _ in range(20):
        state = step(state, boards, air, days * 86400)
        assert state.profile.min() >= low - 1e-6
        assert state.profile.max() <= high + 1e-6


def test_faster_wood_and_thinner_boards_are_drier():
    air = Air.of(15.0, 70.0)
    rates = Boards.of(OAK, 27.0, rate=np.linspace(0.1, 2, 12))
    thick = Boards.of(OAK, np.linspace(19, 49, 12))
    for boards, sign in ((rates, -1), (thick, 1)):
        state = start(boards, np.full(12, 0.8))
        for _ in range(60):
            state = step(state, boards, air, 86400)
            assert (sign * np.diff(state.average) > 0).all()


def test_one_board_dries_as_it_does_among_many():
    rng = np.random.default_rng(7)
    thickness, rate = rng.uniform(20, 48, (3, 4)), rng.uniform(0.1, 1, (3, 4))
    temperature, humidity = rng.uniform(5, 60, (3, 1)), rng.uniform(40, 85, (3, 1))
    many = Boards.of(SPRUCE, thickness, rate=rate)
    together = start(many, np.full((3, 4), 0.9))
    for _ in range(30):
        together = step(together, many, Air.of(temperature, humidity), 43200)
    one = Boards.of(SPRUCE, thickness[2, 1], rate=rate[2, 1])
    alone = start(one, np.asarray(0.9))
    for _ in range(30):
        alone = step(alone, one, Air.of(temperature[2, 0], humidity[2, 0]), 43200)
    assert alone.profile == pytest.approx(together.profile[:, 2, 1], abs=1e-12)


def test_a_step_leaves_its_input_alone():
    boards = Boards.of(OAK, 27.0)
    state = start(boards, np.asarray(0.8))
    kept = state.profile.copy()
    step(state, boards, Air.of(20, 65), 86400)
    assert (state.profile == kept).all()


def test_wood_takes_water_up_in_damp_air():
    boards, air = Boards.of(SPRUCE, 27.0), Air.of(10.0, 90.0)
    state = start(boards, np.asarray(0.08))
    for _ in range(120):
        state = step(state, boards, air, 86400)
    assert 0.12 < state.average < air.equilibrium


def test_frozen_oak_hardly_dries():
    """Frozen wood does not dry appreciably (common practice, no source)."""
    boards = Boards.of(OAK, 27.0)

    def loss(temperature_c):
        state = start(boards, np.asarray(0.5))
        for _ in range(30):
            state = step(state, boards, Air.of(temperature_c, 75.0), 86400)
        return (0.5 - float(state.average)) * 100 / 30

    assert loss(-8) < 0.33 * loss(15)
    pace, melted = diffusion.thawed([5, 0, -2.5, -5, -10, -20])
    assert pace.tolist() == [1, 1, 0.875, 0.75, 0.5, 0.5]
    assert melted.tolist() == [1, 1, 0.5, 0, 0, 0]


def test_green_wood_loses_little_in_a_frozen_month():
    """Spruce at -8 °C: about a third of a point a day; the face dries, the frozen core sends nothing after it."""
    boards = Boards.of(SPRUCE, 27.0)

    def month(temperature_c):
        state = start(boards, np.asarray(0.8))
        for _ in range(30):
            state = step(state, boards, Air.of(temperature_c, 80.0), 86400)
        return 0.8 - float(state.average), float(state.profile[0])

    lost, core = month(-8.0)
    assert lost < 0.3 * month(10.0)[0]
    assert core > 0.78


def test_one_sweep_serves_any_humidity_at_the_same_temperature():
    boards = Boards.of(Wood(560, 1, 0.41, 0.45), np.array([27.0, 40.0]))
    state = step(start(boards, np.array([0.5, 0.3])), boards, Air.of(40, 50), 7200.0)
    inside = diffusion.Inside(state, boards, Air.of(40, 50), 7200.0)
    for humidity in (30, 80, 50):
        climate = Air.of(40, humidity)
        assert np.array_equal(inside.at(climate).profile, step(state, boards, climate, 7200.0).profile)


def test_the_swept_system_is_the_solution_of_the_whole_one():
    rng = np.random.default_rng(2)
    widths, links, profile = cell_widths(6, 1.35), rng.uniform(0.01, 50, (5, 1)), rng.uniform(0.1, 1, (6, 1))
    swept = Swept.of(profile, links, widths[:, None])
    flow = np.diff(np.eye(6), axis=0)
    matrix = np.diag(widths) + flow.T @ (links * flow)
    found = swept.profile(swept.right / swept.pivot)[:, 0]
    assert found == pytest.approx(np.linalg.solve(matrix, widths * profile[:, 0]), rel=1e-12)
    assert widths @ found == pytest.approx(widths @ profile[:, 0], rel=1e-12)
