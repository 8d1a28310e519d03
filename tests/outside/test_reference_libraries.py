"""The same quantities by general reference libraries and by other routes."""

from __future__ import annotations

import ambiance
import numpy as np
import pytest
import sympy
from CoolProp.CoolProp import PropsSI

import evidence
from cyclewright.mechanics import airspring, bolt, brake, gas, jump, spring, steering, tyre

BAR = 1e5


@pytest.mark.parametrize("altitude", [-4000.0, 0.0, 450.0, 2200.0, 5000.0, 10500.0, 15000.0, 45e3])
def test_the_atmosphere_against_a_reference_library(altitude):
    radius = ambiance.CONST.r  # the library takes geometric altitudes
    reference = ambiance.Atmosphere(radius * altitude / (radius - altitude))
    ours = gas.standard_atmosphere(altitude)
    method = "ambiance (ICAO standard atmosphere)"
    at = f"standard atmosphere at {altitude:g} m"
    evidence.second_method(f"{at}: pressure", ours.pressure, reference.pressure, method, rel=2e-5)
    evidence.second_method(
        f"{at}: temperature", ours.temperature, reference.temperature, method, rel=1e-6
    )
    evidence.second_method(f"{at}: density", ours.density, reference.density, method, rel=2e-5)


@pytest.mark.parametrize(
    ("gauge", "allowed"), [(2 * BAR, 0.002), (7 * BAR, 0.004), (18 * BAR, 0.01)]
)
def test_cooling_against_real_air(gauge, allowed):
    density = PropsSI("D", "T", 303.15, "P", gauge + 101325.0, "Air")
    cold = PropsSI("P", "T", 268.15, "D", density, "Air") - 101325.0
    evidence.second_method(
        f"closed chamber at {gauge / BAR:g} bar from 30 to -5 °C",
        gas.shifted_gauge(gauge, 303.15, 268.15),
        cold,
        "CoolProp, real air at constant density",
        rel=allowed,
    )


def test_slow_compression_against_real_air():
    area, volume, gauge, stroke = 7e-4, 1.1e-4, 5.5 * BAR, 0.1
    density = PropsSI("D", "T", 293.15, "P", gauge + 101325.0, "Air")
    squeezed = density * volume / (volume - area * stroke)
    real = PropsSI("P", "T", 293.15, "D", squeezed, "Air") - 101325.0
    evidence.second_method(
        "air spring at 100 mm, isothermal",
        spring.air_force(area, volume, gauge, stroke),
        area * real,
        "CoolProp, real air at constant temperature",
        rel=0.01,
    )


@pytest.mark.parametrize(("warmth", "allowed"), [(273.15, 0.019), (293.15, 0.010), (313.15, 0.005)])
@pytest.mark.parametrize("gauge", [5 * BAR, 12 * BAR, 20 * BAR, 25 * BAR])
def test_a_shock_against_real_air(gauge, warmth, allowed):
    unit = airspring.air_unit(
        1.2e-3, 9.9e-5, 2e-5, 0.055, shaft_area=1.5e-4, transfer_stroke=0.004, rod_force=0.0
    )
    charge = airspring.fill(unit, gauge)
    strokes = np.array([0.3, 0.7, 1.0]) * 0.055
    real = []
    at_rest = PropsSI("D", "T", warmth, "P", gauge + 101325.0, "Air")
    levelled = at_rest * 9.9e-5 / (9.9e-5 - 1.2e-3 * 0.004)
    for stroke in strokes:
        above = at_rest * 9.9e-5 / (9.9e-5 - 1.2e-3 * stroke)
        below = levelled * (2e-5 + 1.05e-3 * 0.004) / (2e-5 + 1.05e-3 * stroke)
        up, down = (PropsSI("P", "T", warmth, "D", density, "Air") for density in (above, below))
        real.append(1.2e-3 * up - 1.05e-3 * down - 1.5e-4 * 101325.0)
    evidence.second_method(
        f"shock at {gauge / BAR:g} bar and {warmth - 273.15:.0f} °C, force over the stroke",
        airspring.slow_force(unit, charge, strokes),
        np.array(real),
        "CoolProp, real air in both chambers at constant temperature",
        rel=allowed,
    )


def test_trail_by_intersecting_lines():
    theta, radius, offset, along = sympy.symbols("theta R o s", positive=True)
    # the axis runs through a point at the offset behind the axle, upward and backward
    axis = sympy.Matrix([-sympy.cos(theta), sympy.sin(theta)])
    behind = sympy.Matrix([-sympy.sin(theta), -sympy.cos(theta)])
    point = sympy.Matrix([0, radius]) + offset * behind + along * axis
    ground = sympy.solve(point[1], along)[0]
    law = sympy.simplify(point[0].subs(along, ground))
    values = {theta: np.radians(64.3), radius: 0.3668, offset: 0.0437}
    evidence.second_method(
        "trail at 64.3°, 366.8 mm, 43.7 mm",
        steering.trail(values[radius], values[theta], values[offset]),
        float(law.subs(values)),
        "sympy: steering axis and ground intersected",
    )


def test_assembly_preload_by_von_mises_stress():
    thread, friction, share = bolt.thread("M6"), 0.14, 0.9
    force = float(bolt.assembly_preload(thread, "10.9", friction, share))
    thread_torque = force * thread.d2 / 2 * (thread.pitch / (np.pi * thread.d2) + 1.155 * friction)
    shear = thread_torque / (np.pi / 12.0 * thread.ds**3)  # fully plastic section
    tensile = force / thread.stress_area
    evidence.second_method(
        "M6 10.9: equivalent stress at the assembly preload",
        np.sqrt(tensile**2 + 3.0 * shear**2),
        share * bolt.proof_stress("10.9"),
        "von Mises stress from tension and thread torque",
    )


def test_air_rate_by_differentiating_the_force():
    s = sympy.symbols("s")
    area, volume, gauge, exponent = 5e-4, 6e-5, 1e6, 1.3
    force = area * ((gauge + 101325) * (volume / (volume - area * s)) ** exponent - 101325)
    evidence.second_method(
        "air spring's rate at 40 mm",
        spring.air_rate(area, volume, gauge, 0.04, exponent),
        float(sympy.diff(force, s).subs(s, 0.04)),
        "sympy: derivative of the force",
    )


def test_landing_by_following_the_flight():
    x, y, start, slope = 7.3, -2.1, np.radians(14.0), np.radians(-24.0)
    flight = jump.landing(x, y, start, slope)
    g, t, v = 9.80665, sympy.symbols("t", positive=True), float(flight.takeoff_speed)
    time = x / (v * np.cos(start))
    height = sympy.Float(v * np.sin(start)) * t - sympy.Float(g) * t**2 / 2
    evidence.second_method(
        "height of the flight at the landing point",
        float(height.subs(t, time)),
        y,
        "the flight followed in time",
    )
    velocity = np.array([v * np.cos(start), float(sympy.diff(height, t).subs(t, time))])
    normal = np.array([-np.sin(slope), np.cos(slope)])
    evidence.second_method(
        "speed normal to the landing",
        flight.impact_speed,
        -velocity @ normal,
        "velocity at the landing projected on its normal",
    )


def test_braking_by_solving_the_balances():
    front, rear = sympy.symbols("N_f N_r")
    m, g, base, ahead, height, a, alpha = 92.0, 9.80665, 1.21, 0.69, 1.08, 3.1, np.radians(9.0)
    push = m * (a + g * np.sin(alpha))
    weight = m * g * np.cos(alpha)
    solved = sympy.solve(
        [front + rear - weight, rear * base - weight * ahead + push * height], [front, rear]
    )
    ours = brake.axle_loads(m, base, ahead, height, a, alpha)
    method = "sympy: force and moment balance about the front contact"
    evidence.second_method("front load on a descent", ours[0], float(solved[front]), method)
    evidence.second_method("rear load on a descent", ours[1], float(solved[rear]), method)


def test_flat_ground_by_cutting_a_torus():
    # area of the flat cut through a torus with wheel radius R and section radius a
    R, a, depth = 0.37, 0.030, 0.004  # noqa: N806
    z = np.linspace(-a, a, 20001)
    outline = R - a + np.sqrt(np.maximum(a**2 - z**2, 0.0))  # radius of the torus at each z
    half = np.sqrt(np.maximum(outline**2 - (R - depth) ** 2, 0.0))
    area = 2.0 * np.trapezoid(half, z)
    evidence.second_method(
        "contact area at 4 mm of drop, 60 mm tyre",
        tyre.stiffness(1.0, R, 2 * a, 0.0) * depth,
        area,
        "numerical cut of a torus by a plane",
        rel=0.05,
    )


def test_the_edge_by_its_differential_equation():
    x, half, depth = sympy.symbols("x a delta0", positive=True)
    reach = 2 * sympy.sqrt(half * depth)
    shape = (reach - x) ** 2 / (4 * half)
    root = (reach - x) / (2 * sympy.sqrt(half))  # the root of the shape on 0 to reach
    balance = half * sympy.diff(root * sympy.diff(shape, x), x) - root
    assert sympy.simplify(balance) == 0
    assert sympy.simplify(shape.subs(x, 0) - depth) == 0
    band = 2 * sympy.sqrt(2 * half) * root
    load = 2 * sympy.integrate(sympy.expand(band), (x, 0, reach))
    values = {half: sympy.Float(0.031), depth: sympy.Float(0.052)}
    evidence.second_method(
        "load on an edge at rim strike, 62 mm tyre, per pressure",
        tyre.edge_load(1.0, 0.37, 0.062, 0.052, 0.0),
        float(load.subs(values)),
        "sympy: the band's balance and the pressure summed over it",
    )
