"""Every field of the sheets has one role; what is mounted or set is told from what is true."""

from __future__ import annotations

import re
from collections import Counter

import pytest

from cyclewright.knowledge import roles
from cyclewright.knowledge.data import table
from cyclewright.knowledge.roles import by_hand, role
from cyclewright.sheets.fields import fields

PATHS = tuple(info.path for info in fields())
ENDS = ("front", "rear")

BY_HAND = {
    *("spacers_under", "spacers_over", "steerer_gap", "bar_roll"),
    *("bar_width", "bar_rise", "bar_backsweep", "bar_material", "bar_diameter"),
    *("stem_length", "stem_angle", "stem_clamp_height"),
    *("stem_bar_diameter", "stem_steerer_diameter", "grip_length", "lever_blade"),
}
"""All of the cockpit is put on by somebody."""

TRUE = (
    "bike.mass_limit",
    "bike.mass_limit_includes_bike",
    "bike.use_class",
    "bike.frame.steerer_stack_max",
    "bike.fork.steerer_stack_max",
    "bike.fork.steerer_stack_min",
    "bike.frame.rotor_max",
    "bike.fork.rotor_max",
    "bike.frame.insertion_min",
    "bike.frame.insertion_max",
    "bike.post.insertion_min",
    "bike.frame.tyre_clearance",
    "bike.fork.tyre_clearance",
    "bike.fork.pressure_max",
    "bike.shock.pressure_max",
    *(f"bike.wheel.{end}.pressure_max" for end in ENDS),
    *(f"bike.tyre.{end}.pressure_max" for end in ENDS),
    *(f"bike.tyre.{end}.pressure_min" for end in ENDS),
    *(f"bike.tyre.{end}.hookless_ok" for end in ENDS),
    *(f"bike.brake.{end}.rotor_min" for end in ENDS),
    *(f"bike.axle.{end}.torque" for end in ENDS),
    "bike.drive.capacity",
    "bike.fastener.NAME.max",
    "bike.fastener.NAME.b.target",
)
"""What a maker or a mark says: whoever corrects it is never turned away."""

MOUNTED = (
    *(f"bike.tyre.{end}.size" for end in ENDS),
    *(f"bike.tyre.{end}.tubeless" for end in ENDS),
    *(f"bike.brake.{end}.rotor_diameter" for end in ENDS),
    *(f"bike.brake.{end}.rotor_thickness" for end in ENDS),
    *(
        f"bike.axle.{end}.{what}"
        for end in ENDS
        for what in ("kind", "diameter", "length", "pitch")
    ),
    *(f"bike.wheel.{end}.{what}" for end in ENDS for what in ("bead", "rim_width", "hooked")),
    "bike.post.length",
    "bike.post.travel",
    "bike.post.diameter",
    "bike.saddle.ridden_height",
    "bike.saddle.rail_shape",
    "bike.crank.length",
    "bike.drive.chain_links",
    "bike.drive.sprockets",
    "bike.fork.travel",
    "bike.fork.spacers",
    "bike.shock.stroke",
)


@pytest.mark.parametrize("path", PATHS)
def test_every_field_has_a_role(path: str) -> None:
    assert role(path) in ("mounted", "set", "limit", "described", "rider", "place")
    kind = path.partition(".")[0]
    assert kind == "bike" or role(path) == kind


def test_every_name_stands_for_a_field_and_no_two_for_the_same() -> None:
    listed = [name for row in table(roles.FILE).values() if isinstance(row, dict)
              for name in row["fields"]]  # fmt: skip
    assert max(Counter(listed).values()) == 1
    plain = [re.sub(r"\[\]", "", path) for path in PATHS] + ["mass"]
    for name in listed:
        pattern = re.compile(re.escape(name).replace(r"\*", r"[^.]+") + r"(\..+)?")
        assert any(pattern.fullmatch(path) for path in plain), name


def test_the_cockpit_is_put_on_by_hand() -> None:
    cockpit = {path for path in PATHS if path.startswith("bike.cockpit.")}
    assert cockpit == {f"bike.cockpit.{name}" for name in BY_HAND}
    assert all(by_hand(path) for path in cockpit)


@pytest.mark.parametrize("path", TRUE)
def test_a_limit_is_not_put_on_by_hand(path: str) -> None:
    assert path in PATHS and role(path) == "limit" and not by_hand(path)


@pytest.mark.parametrize("path", MOUNTED)
def test_what_is_mounted_or_set_is(path: str) -> None:
    assert path in PATHS and by_hand(path)


def test_every_largest_and_least_is_a_limit() -> None:
    for path in PATHS:
        words = path.rpartition(".")[2].split("_")
        row = "[]" in path
        if words[-1] in ("max", "min") and not row:
            assert role(path) == "limit", path


def test_rows_and_names_of_choice_have_the_role_of_their_table() -> None:
    assert role("bike.fork.chart[2].pressure") == "described"
    assert role("bike.fastener.faceplate.a.max") == "limit"
    assert role("bike.drive.sprockets[3]") == "mounted"
