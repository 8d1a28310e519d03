"""The table of fields agrees with the models, the contract and the labelled defaults."""

from __future__ import annotations

import pytest

from cyclewright.knowledge import defaults
from cyclewright.sheets.fields import fields
from cyclewright.sheets.layout import layout
from cyclewright.sheets.model import MODELS
from cyclewright.sheets.spec import Spec, Table
from cyclewright.units import DIMENSIONS, parse

# The field list that others rely on, as it was agreed; fields may be added, never renamed.
AGREED = {
    "bike": "maker model year serial kind use_class mass mass_limit mass_limit_includes_bike "
    "hands_delivered",
    "bike.frame": "size material reach stack head_angle seat_angle seat_angle_actual chainstay "
    "bb_drop wheelbase post_diameter insertion_min insertion_max rotor_max tyre_clearance "
    "steerer_stack_max",
    "bike.fork": "kind travel axle_to_crown offset rotor_max tyre_clearance sag_target posture "
    "pressure_max spacers spacers_max rebound_clicks compression_clicks material_steerer",
    "bike.fork.chart[]": "mass_min mass_max pressure",
    "bike.fork.clicks[]": "pressure_min pressure_max rebound compression",
    "bike.shock": "kind stroke sag_target posture pressure_max spacers rebound_clicks "
    "compression_clicks rates preload_max",
    "bike.shock.chart[]": "mass_min mass_max pressure",
    "bike.shock.clicks[]": "pressure_min pressure_max rebound compression",
    "bike.rear": "travel linkage",
    "bike.rear.points.NAME": "x y",
    "bike.rear.leverage[]": "travel ratio",
    "bike.wheel.front": "bead rim_width hooked pressure_max spokes hole_count",
    "bike.wheel.rear": "bead rim_width hooked pressure_max spokes hole_count",
    "bike.axle.front": "kind diameter width pitch length torque",
    "bike.axle.rear": "kind diameter width pitch length torque",
    "bike.tyre.front": "size pressure_min pressure_max tubeless hookless_ok casing insert",
    "bike.tyre.rear": "size pressure_min pressure_max tubeless hookless_ok casing insert",
    "bike.cockpit": "stem_length stem_angle spacers_under spacers_over bar_width bar_rise "
    "bar_roll bar_material bar_diameter grip_length lever_blade",
    "bike.post": "kind travel length insertion_min material diameter remote",
    "bike.saddle": "rail_length rail_shape height",
    "bike.pedal": "kind stack key",
    "bike.crank": "length",
    "bike.brake.front": "kind lever fluid coupling rotor_diameter rotor_min rotor_mount hose_route",
    "bike.brake.rear": "kind lever fluid coupling rotor_diameter rotor_min rotor_mount hose_route",
    "bike.drive": "chainrings sprockets speeds capacity pull chain_links",
    "bike.electric": "motor battery",
    "bike.fastener.NAME": "thread head grade hand drive compound verb target max min",
    "bike.fastener.NAME.a": "target max min",
    "bike.fastener.NAME.b": "target max min",
    "rider": "name mass kit_mass mass_includes_kit height inseam inseam_kind sex arm_length "
    "shoe_stack power ride ground hands_wish sag_wish",
    "place": "country",
    "place.workshop": "altitude temperature",
    "place.trail": "altitude temperature slope",
}
NEVER_GUESSED = {
    "bike.mass_limit", "bike.mass_limit_includes_bike", "bike.use_class", "bike.hands_delivered",
    "bike.frame.insertion_min", "bike.frame.insertion_max", "bike.post.insertion_min",
    "bike.brake.front.fluid", "bike.brake.rear.fluid", "bike.tyre.front.hookless_ok",
    "bike.tyre.rear.hookless_ok", "bike.axle.front.pitch", "bike.axle.rear.pitch",
    "bike.brake.front.coupling", "bike.brake.rear.coupling", "rider.hands_wish",
    "bike.fastener.NAME.verb", "rider.mass", "bike.cockpit.bar_material",
}  # fmt: skip


def test_every_agreed_field_is_there():
    there = {item.path for item in fields()}
    agreed = {f"{table}.{name}" for table, names in AGREED.items() for name in names.split()}
    assert agreed - there == set()


def test_every_leaf_of_every_model_is_described():
    def walk(kind: type[Table]) -> None:
        for slot in layout(kind).values():
            assert (slot.spec is None) != (slot.table is None)
            if slot.table is not None:
                walk(slot.table)

    for model in MODELS.values():
        walk(model)
    for item in fields():
        assert item.meaning
        assert item.meaning == item.meaning.strip(" .")
        if item.shape == "choice":
            assert ", " in item.allowed


@pytest.mark.parametrize("item", [one for one in fields() if one.dimension], ids=lambda i: i.path)
def test_the_unit_of_a_field_is_one_that_it_reads(item):
    assert item.dimension in DIMENSIONS
    parse(f"1 {item.unit}", item.dimension)
    assert item.allowed


def test_what_may_never_be_guessed_is_asked():
    policies = {item.path: item.default_policy for item in fields()}
    assert {path for path in NEVER_GUESSED if policies[path] != "ask"} == set()
    assert {path for path in NEVER_GUESSED if path in defaults.fields()} == set()


def test_labelled_defaults_and_the_table_of_fields_agree():
    """What the table calls a labelled default has one; torque figures have theirs by joint."""
    labelled = {
        item.path
        for item in fields()
        if item.default_policy == "labelled default" and "NAME" not in item.path
    }
    assert labelled == defaults.fields()


def test_bounds_are_in_order():
    for model in MODELS.values():
        for spec in _specs(model):
            if spec.shape in ("quantity", "count"):
                assert spec.low < spec.high


def _specs(kind: type[Table]) -> list[Spec]:
    found = []
    for slot in layout(kind).values():
        found += [slot.spec] if slot.spec else _specs(slot.table)
    return found
