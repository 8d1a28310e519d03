from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

import evidence
from cyclewright.errors import InputError, RangeError
from cyclewright.mechanics import bolt

SIZES = st.sampled_from(["M4", "M5", "M6", "M8", "M8x1", "M10", "M10x1.25"])
HEADS = st.sampled_from(["socket", "hex"])
FRICTIONS = st.floats(0.05, 0.4)


@pytest.mark.parametrize(
    ("designation", "area"),
    # ISO 898-1 table of nominal stress areas, mm²: values from memory, rounded to three digits
    [("M3", 5.03), ("M8", 36.6), ("M10", 58.0), ("M12", 84.3), ("M8x1", 39.2), ("M10x1.25", 61.2)],
)
def test_stress_area(designation, area):
    evidence.published(
        f"stress area of {designation}",
        bolt.thread(designation).stress_area * 1e6,
        area,
        "0.3%",
        "ISO 898-1 nominal stress area",
        "memory",
        "mm²",
    )


@given(SIZES, HEADS, FRICTIONS, FRICTIONS, st.floats(0.0, 1e5))
def test_torque_and_preload_invert_each_other(size, head, in_thread, under_head, tension):
    thread = bolt.thread(size)
    torque = bolt.torque(thread, tension, in_thread, under_head, head)
    back = bolt.preload(thread, torque, in_thread, under_head, head)
    evidence.identity("preload of the torque of a tension", back, tension)


@given(SIZES, FRICTIONS, FRICTIONS)
def test_more_friction_means_less_preload_at_one_torque(size, one, other):
    slick, rough = sorted((one, other))
    thread = bolt.thread(size)
    assert bolt.preload(thread, 5.0, rough, rough) <= bolt.preload(thread, 5.0, slick, slick)


def test_the_assembly_broadcasts():
    made = bolt.assembly(bolt.thread("M5"), "8.8", np.array([0.1, 0.2]), np.full((3, 1), 0.1))
    assert made.preload.shape == (2,)
    assert made.torque.shape == (3, 2)


def test_a_fine_thread_and_its_spelling():
    assert bolt.thread("m8×1") == bolt.thread(" M8x1 ") == bolt.thread("M8x1.0")
    assert bolt.thread("M8").pitch == 0.00125


@pytest.mark.parametrize(
    "word", ["", "5", "M", "M5x", "M5-1", "1/4", "Mx1", "M5x0", "M5x3", "M99x1"]
)
def test_what_is_no_thread(word):
    with pytest.raises(InputError, match=r"thread.*(write it like M5|measure diameter and pitch)"):
        bolt.thread(word)


def test_a_size_without_coarse_pitch_asks_for_it():
    with pytest.raises(InputError, match=r"write the pitch too, like M15x1"):
        bolt.thread("M15")


def test_an_untabulated_head_is_asked_for():
    assert bolt.tabulated_head(bolt.thread("M12"), "hex") is None
    with pytest.raises(InputError, match="give head_diameter and hole"):
        bolt.torque(bolt.thread("M12"), 1e4, 0.1, 0.1)
    own = bolt.Head(0.0166, 0.0135)
    assert bolt.torque(bolt.thread("M12"), 1e4, 0.1, 0.1, own) > 0


@pytest.mark.parametrize(
    ("head", "match"),
    [(bolt.Head(0.005, 0.006), "larger than the hole"), (bolt.Head(0.02, 0.004), "passes through")],
)
def test_a_head_that_cannot_be(head, match):
    with pytest.raises(RangeError, match=match):
        bolt.torque(bolt.thread("M5"), 1e3, 0.1, 0.1, head)


def test_an_unknown_grade_and_head():
    with pytest.raises(InputError, match=r"grade is 9\.9 .*8\.8"):
        bolt.proof_stress("9.9")
    with pytest.raises(InputError, match="write socket or hex"):
        bolt.tabulated_head(bolt.thread("M5"), "star")


def test_every_bad_number_is_told_at_once():
    with pytest.raises(RangeError, match="friction_thread") as caught:
        bolt.torque(bolt.thread("M5"), 1e3, 0.0, np.nan)
    assert [problem.field for problem in caught.value.problems] == [
        "friction_thread",
        "friction_head",
    ]


def test_an_extension_square_to_the_tool_changes_nothing():
    evidence.identity("extension at 90°", bolt.extension_setting(40.0, 0.3, 0.05, np.pi / 2), 40.0)


def test_an_extension_turned_back_to_the_hand():
    with pytest.raises(RangeError, match="behind the hand"):
        bolt.extension_setting(40.0, 0.3, 0.3, np.pi)


@given(st.floats(0.0, 200.0), st.floats(0.1, 1.0), st.floats(0.0, 0.2))
def test_a_longer_tool_is_set_lower(torque, length, extension):
    assert bolt.extension_setting(torque, length, extension) <= torque
