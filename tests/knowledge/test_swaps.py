"""A part that is swapped opens the joints that hold it, and is known by what people call it."""

from __future__ import annotations

from collections import Counter

import pytest

from cyclewright.bench.carton import USUAL
from cyclewright.knowledge.roles import role
from cyclewright.knowledge.swaps import swap_of, swaps
from cyclewright.sheets.fields import fields

OPENS = {
    "front rotor": {"front_axle", "front_rotor", "front_caliper"},
    "rear rotor": {"rear_axle", "rear_rotor", "rear_caliper"},
    "front brake pads": {"front_axle", "front_pads"},
    "rear brake pads": {"rear_axle", "rear_pads"},
    "front brake": {"front_axle", "front_caliper", "front_pads", "front_adapter", "hose_nuts",
                    "brake_levers"},
    "rear brake": {"rear_axle", "rear_caliper", "rear_pads", "rear_adapter", "hose_nuts",
                   "brake_levers"},
    "front tyre": {"front_axle", "front_tyre"},
    "rear tyre": {"rear_axle", "rear_tyre"},
    "front wheel": {"front_axle", "front_hub", "front_tyre", "front_rotor", "front_caliper"},
    "rear wheel": {"rear_axle", "rear_hub", "rear_tyre", "rear_rotor", "rear_caliper",
                   "cassette_lockring", "cable_anchor"},
    "front axle": {"front_axle"},
    "rear axle": {"rear_axle"},
    "fork": {"front_axle", "front_caliper", "front_adapter", "top_cap", "stem_pinch", "expander"},
    "shock": {"shock_front", "shock_rear"},
    "headset": {"front_axle", "front_caliper", "top_cap", "stem_pinch", "expander"},
    "stem": {"faceplate", "stem_pinch", "top_cap"},
    "handlebar": {"faceplate", "brake_levers", "shifter", "dropper_remote", "grips"},
    "grips": {"grips"},
    "post": {"seat_collar", "mast_head", "saddle_clamp", "dropper_remote"},
    "saddle": {"saddle_clamp"},
    "left pedal": {"pedals"},
    "right pedal": {"pedals"},
    "pedals": {"pedals"},
    "crank": {"crank", "bottom_bracket", "chainring", "pedals"},
    "bottom bracket": {"crank", "bottom_bracket"},
    "chainring": {"chainring", "chain_guide"},
    "chain": {"derailleur", "cable_anchor"},
    "cassette": {"rear_axle", "cassette_lockring", "derailleur", "cable_anchor"},
    "derailleur": {"derailleur", "jockey_wheels", "cable_anchor"},
    "hanger": {"hanger", "derailleur", "cable_anchor"},
    "shifter": {"shifter", "cable_anchor"},
}  # fmt: skip
"""From the bench: what has to be loosened to take each part off and put another on."""


def test_every_part_is_in_the_table() -> None:
    assert set(swaps()) == set(OPENS)


@pytest.mark.parametrize("part", OPENS)
def test_a_swap_opens_the_joints_that_hold_the_part(part: str) -> None:
    found = swaps()[part]
    assert set(found.joints) == OPENS[part]
    paths = {info.path for info in fields()}
    assert set(found.fields) <= paths
    assert all(role(name) in ("mounted", "set", "limit", "described") for name in found.fields)


def test_no_word_means_two_parts() -> None:
    words = [word for item in swaps().values() for word in (item.part, *item.words)]
    spelled = Counter("".join(filter(str.isalnum, word.casefold())) for word in words)
    assert max(spelled.values()) == 1
    for item in swaps().values():
        for word in (item.part, *item.words):
            assert swap_of(word.upper().replace(" ", "-")) is item


def test_what_comes_in_a_carton_can_be_swapped() -> None:
    whole = {"frame", "saddle and post", "small parts", "manuals"}
    assert all(swap_of(name) is not None for name in USUAL if name not in whole)
    assert swap_of("nose") is None
