import numpy as np
import pytest

import evidence
from body.bodies import SEAT_ANGLE, trail_bike
from cyclewright.body import balance, posture
from cyclewright.body.inertia import rider_inertia
from cyclewright.body.segments import inseam_of, predict, segment_masses
from cyclewright.errors import RangeError


def seated(stature=1.756, crotch=0.846):
    body = predict(stature, crotch, "M")
    heights = posture.saddle_heights(body, inseam_of(crotch), 0.17, 0.03, SEAT_ANGLE)
    contacts, *_ = trail_bike(body.stature, posture.recommended(heights))
    return posture.seated(body, contacts)


def test_many_small_masses_give_the_same():
    """Each segment cut into a thousand points along its line, each side where it hangs."""
    from cyclewright.body import inertia

    pose, masses = seated(), segment_masses()
    at = {name: place[0] for name, place in pose.points.items()}
    rows = [("trunk", "shoulder", "hip", 1, 5.0), ("head", "head", "head", 1, 0.0),
            ("upper_arm", "shoulder", "elbow", 2, 0.0), ("forearm", "elbow", "hand", 2, 0.0),
            ("hand", "hand", "hand", 2, 0.0)]  # fmt: skip
    for side in ("front", "rear"):
        rows += [("thigh", "hip", f"knee_{side}", 1, 0.0),
                 ("shank", f"knee_{side}", f"ankle_{side}", 1, 0.0),
                 ("foot", f"heel_{side}", f"ball_{side}", 1, 0.0)]  # fmt: skip
    wide = {"trunk": inertia.TRUNK_WIDTH**2 / 12, "head": inertia.HEAD_WIDTH**2 / 12}
    along = (np.arange(1000) + 0.5) / 1000
    centre = balance.mass_centre(pose, 80.0, 5.0, masses)[0]
    lean = turn = product = 0.0
    for name, start, end, count, kit in rows:
        mass = 80.0 / masses.total * count * getattr(masses, name) + kit
        x, y = (at[start] + along[:, None] * (at[end] - at[start]) - centre).T
        aside = wide.get(name, inertia.ASIDE.get(name, 0.0) ** 2)
        lean += mass * np.mean(y**2 + aside)
        turn += mass * np.mean(x**2 + aside)
        product += mass * np.mean(x * y)
    found = rider_inertia(pose, 80.0, 5.0, masses)
    for name, other in (("lean", lean), ("turn", turn), ("product", product)):
        evidence.second_method(
            f"inertia of a rider, {name}", getattr(found, name)[0], other,
            "a thousand points a segment", rel=1e-5,
        )  # fmt: skip


def test_about_as_much_as_the_rider_of_the_benchmark_bicycle():
    """85 kg of rider and frame there, 85 kg of rider and kit here: the size, not the posture."""
    found = rider_inertia(seated(), 80.0, 5.0, segment_masses())
    assert found.lean[0] == pytest.approx(9.2, rel=0.25)
    assert found.turn[0] == pytest.approx(2.8, rel=0.25)
    assert 0.0 < found.product[0] < 2.4
    assert found.product[0] ** 2 < found.lean[0] * found.turn[0]


def test_a_mass_that_cannot_be_is_refused():
    with pytest.raises(RangeError, match="body_mass"):
        rider_inertia(seated(), 0.0, 5.0, segment_masses())
