"""A full sheet on which nothing clashes, for tests that plant one clash at a time.

All invented; the figures close.
"""

from __future__ import annotations

import tomllib
from typing import Any

from cyclewright.sheets.sheets import Sheets, change, load

BIKE = """
kind = "full-suspension"
use_class = 4
mass = "14.5 kg"
mass_limit = "130 kg"
mass_limit_includes_bike = true
hands_delivered = "front-right"

[frame]
material = "alloy"
reach = "455 mm"
stack = "625 mm"
head_angle = "65.5 deg"
seat_angle = "76 deg"
seat_angle_actual = "72 deg"
seat_tube = "410 mm"
chainstay = "438 mm"
bb_drop = "30 mm"
wheelbase = "1211 mm"
post_diameter = "31.6 mm"
insertion_min = "100 mm"
insertion_max = "250 mm"
rotor_max = "203 mm"
tyre_clearance = "66 mm"
steerer_stack_max = "40 mm"

[fork]
kind = "air"
travel = "140 mm"
axle_to_crown = "551 mm"
offset = "44 mm"
rotor_max = "220 mm"
tyre_clearance = "68 mm"
pressure_max = "150 psi"
material_steerer = "alloy"
chart = [
  { mass_min = "60 kg", mass_max = "75 kg", pressure = "75 psi" },
  { mass_min = "75 kg", mass_max = "90 kg", pressure = "90 psi" },
]

[shock]
kind = "air"
stroke = "55 mm"
pressure_max = "300 psi"
chart = [{ mass_min = "60 kg", mass_max = "90 kg", pressure = "180 psi" }]

[rear]
travel = "140 mm"
linkage = "table"
leverage = [
  { travel = "0 mm", ratio = 2.8 },
  { travel = "70 mm", ratio = 2.55 },
  { travel = "140 mm", ratio = 2.3 },
]

[wheel.front]
bead = 622
rim_width = "30 mm"
hooked = false
pressure_max = "3.5 bar"
[wheel.rear]
bead = 622
rim_width = "30 mm"
hooked = false
pressure_max = "3.5 bar"

[tyre.front]
size = "61-622"
pressure_min = "1.2 bar"
pressure_max = "3.0 bar"
tubeless = true
hookless_ok = true
[tyre.rear]
size = "61-622"
pressure_min = "1.2 bar"
pressure_max = "3.0 bar"
tubeless = true
hookless_ok = true

[cockpit]
spacers_under = "20 mm"
spacers_over = "10 mm"
bar_material = "alloy"

[post]
kind = "dropper"
travel = "170 mm"
length = "470 mm"
insertion_min = "90 mm"
material = "alloy"
diameter = "31.6 mm"

[saddle]
height = "48 mm"

[crank]
length = "170 mm"

[brake.front]
kind = "hydraulic"
lever = "two-way"
fluid = "mineral"
coupling = "open"
rotor_diameter = "203 mm"
hose_route = "outside"
[brake.rear]
kind = "hydraulic"
lever = "two-way"
fluid = "mineral"
coupling = "open"
rotor_diameter = "180 mm"
hose_route = "inside"

[drive]
chainrings = [32]
sprockets = [10, 12, 14, 16, 18, 21, 24, 28, 32, 36, 42, 52]
speeds = 12
capacity = 42
pull = "cable-normal"
chain_links = 116

[fastener.faceplate]
thread = "M5"
head = "socket"
drive = "hex 4"
min = "5 N.m"
max = "6 N.m"
[fastener.pedal_left]
hand = "left"
target = "35 N.m"
[fastener.pedal_right]
hand = "right"
target = "35 N.m"
"""
RIDER = """
mass = "74 kg"
kit_mass = "5 kg"
height = "1.76 m"
inseam = "820 mm ± 6 mm"
ride = "trail"
"""
PLACE = 'country = "GB"'


def clean() -> Sheets:
    """The sheets on which nothing clashes."""
    return load(BIKE, RIDER, PLACE)


def planted(*changes: str) -> Sheets:
    """The clean sheets with these changes."""
    return change(clean(), changes)


def without(*fields: str) -> Sheets:
    """The clean sheets less these dotted fields."""
    texts: dict[str, dict[str, Any]] = {
        "bike": tomllib.loads(BIKE),
        "rider": tomllib.loads(RIDER),
        "place": tomllib.loads(PLACE),
    }
    for field in fields:
        kind, *path, name = field.split(".")
        table = texts[kind]
        for step in path:
            table = table[step]
        del table[name]
    import tomlkit

    return load(*(tomlkit.dumps(texts[kind]) for kind in ("bike", "rider", "place")))
