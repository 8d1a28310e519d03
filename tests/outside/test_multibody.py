"""Rear linkages against a constrained multibody model that is left to settle under a load.

The model knows bodies, hinges, a closed loop and a spring between the shock's ends; it finds its
own rest. Where it rests under the load that our leverage asks for, its rise and shock length are
compared with ours; likewise under the pull of chain and tyre that our anti-squat balances.
"""

from __future__ import annotations

import mujoco
import numpy as np
import pytest

import evidence
from cyclewright.mechanics import linkage, squat
from mechanics.bikes import KINDS, LINKAGES, TRAVEL

METHOD = "MuJoCo: hinged bodies, a closed loop and a spring, settled under the load"
RATE = 60e3
ROWS = np.array([0.0, 0.25, 0.5, 0.9]) * TRAVEL


def _model(name: str) -> mujoco.MjModel:
    """Bodies in the plane x, z; every body's own frame at its hinge."""
    bike, places = linkage.linkage(KINDS[name], LINKAGES[name]), LINKAGES[name]
    pivots = linkage.KINDS[KINDS[name]].pivots
    hinges = {1: pivots[0]} if len(pivots) == 1 else {1: pivots[0], 2: pivots[1], 3: pivots[3]}
    names = ("axle", *bike.shock)

    def body(number: int, inside: str = "", origin: tuple[float, float] = (0.0, 0.0)) -> str:
        at = places[hinges[number]]
        return (
            f'<body name="b{number}" pos="{at[0] - origin[0]:.9f} 0 {at[1] - origin[1]:.9f}">'
            '<joint type="hinge" axis="0 1 0" damping="0.5"/>'
            '<inertial pos="0 0 0" mass="1" diaginertia="0.05 0.05 0.05"/>'
            f"{sites(number, at)}{inside}</body>"
        )

    def sites(number: int, at: tuple[float, float]) -> str:
        return "".join(
            f'<site name="{point}" '
            f'pos="{places[point][0] - at[0]:.9f} 0 {places[point][1] - at[1]:.9f}"/>'
            for point in names
            if bike.body(point) == number
        )

    tree, loop = body(1), ""
    if len(hinges) == 3:
        tree = body(1, body(2, origin=places[pivots[0]])) + body(3)
        anchor = np.subtract(places[pivots[2]], places[pivots[1]])
        loop = (
            '<equality><connect body1="b2" body2="b3" solref="0.002 1" '
            f'solimp="0.9999 0.9999 0.001" anchor="{anchor[0]:.9f} 0 {anchor[1]:.9f}"/></equality>'
        )
    one, other = bike.shock
    start = float(np.hypot(*np.subtract(places[one], places[other])))
    return mujoco.MjModel.from_xml_string(
        '<mujoco><option timestep="0.0005" integrator="implicitfast" gravity="0 0 0"/>'
        f"<worldbody>{sites(0, (0.0, 0.0))}{tree}</worldbody>"
        f'<tendon><spatial name="shock" stiffness="{RATE}" damping="800"'
        f' springlength="{start:.9f}">'
        f'<site site="{one}"/><site site="{other}"/></spatial></tendon>{loop}</mujoco>'
    )


def _settled(name: str, forces) -> tuple[float, float]:
    """Rise of the axle and shortening of the shock under forces at points from the axle.

    The first force comes on alone, the others once it is carried.
    """
    model = _model(name)
    data = mujoco.MjData(model)
    carrier = model.body(f"b{linkage.KINDS[KINDS[name]].axle_body}").id
    axle = model.site("axle").id
    mujoco.mj_forward(model, data)
    start, length = data.site_xpos[axle].copy(), float(data.ten_length[0])
    for step in range(9000):
        data.qfrc_applied[:] = 0.0
        for number, ((x, z), (along, up)) in enumerate(forces):
            share = np.clip((step - (2500 if number else 0)) / 2000, 0.0, 1.0)
            point = data.site_xpos[axle] + (x, 0.0, z)
            force = share * np.array([along, 0.0, up])
            mujoco.mj_applyFT(model, data, force, np.zeros(3), point, carrier, data.qfrc_applied)
        mujoco.mj_step(model, data)
        if step > (4600 if len(forces) > 1 else 2100) and float(np.abs(data.qvel).max()) < 1e-7:
            break
    return float(data.site_xpos[axle][2] - start[2]), length - float(data.ten_length[0])


@pytest.mark.parametrize("name", list(LINKAGES))
def test_leverage_and_stroke(name):
    motion = linkage.move(linkage.linkage(KINDS[name], LINKAGES[name]), ROWS)
    for at in range(1, ROWS.size):
        load = RATE * motion.shock_stroke[at] / motion.leverage_ratio[at]
        rise, stroke = _settled(name, [((0.0, 0.0), (0.0, load))])
        where = f"{name} at {ROWS[at] * 1e3:.1f} mm"
        evidence.second_method(
            f"{where}: wheel travel under k s/LR", ROWS[at], rise, METHOD, rel=5e-4
        )
        evidence.second_method(
            f"{where}: shock stroke", motion.shock_stroke[at], stroke, METHOD, rel=5e-4
        )


@pytest.mark.parametrize("name", list(LINKAGES))
@pytest.mark.parametrize(("front", "rear"), [(32, 18), (30, 51)])
def test_anti_squat(name, front, rear):
    motion = linkage.move(linkage.linkage(KINDS[name], LINKAGES[name]), ROWS)
    radius, wheelbase, height, at, drive = 0.365, 1.22, 1.1, 1, 60.0
    balance = float(
        squat.anti_squat_on_path(
            motion.axle_slope[at], radius, motion.axle_x[at], motion.axle_y[at],
            front, rear, wheelbase, height,
        )
    )  # fmt: skip
    ring, cog = float(squat.pitch_radius(front)), float(squat.pitch_radius(rear))
    x, y = -motion.axle_x[at], -motion.axle_y[at]
    slope = np.arctan2(y, x) + np.arcsin((ring - cog) / np.hypot(x, y))
    pull = drive * radius / cog
    load = RATE * motion.shock_stroke[at] / motion.leverage_ratio[at]
    forces = [
        ((0.0, 0.0), (0.0, load)),
        ((0.0, -radius), (drive, balance * drive * height / wheelbase)),
        (
            (-cog * np.sin(slope), cog * np.cos(slope)),
            (pull * np.cos(slope), pull * np.sin(slope)),
        ),
    ]
    rise, _ = _settled(name, forces)
    evidence.second_method(
        f"{name}, {front}/{rear}: travel kept while load moves by the anti-squat",
        ROWS[at],
        rise,
        METHOD,
        rel=5e-4,
    )
