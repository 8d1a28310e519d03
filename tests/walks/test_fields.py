"""Every field of the three bikes' sheets, changed after release: what it takes away, by hand.

The table is written from the trade's view: which proofs a mechanic would no longer stand by when
this fact turns out otherwise, whatever the program's own tables say.
"""

from __future__ import annotations

from collections.abc import Iterator

import pytest

from cyclewright.sheets.bike import Bike
from cyclewright.sheets.fields import fields
from cyclewright.sheets.sheets import Sheets, facts
from walks import tally
from walks.bikes import BIKES, FULL, Released, after, changed, released
from walks.values import another

AXLES, STEM, POST, TYRES = {"axles"}, {"bar-and-stem"}, {"post"}, {"tyre-pressures"}
SPRINGS, SAG, MASS, HANDS = {"springs"}, {"sag"}, {"mass-and-use"}, {"brake-hands"}
ROTORS, HELD, DRIVE, TOLD = {"brake-bolts"}, {"brake-hold"}, {"drive"}, {"explained"}
HEADSET, RIDDEN, AGAIN = {"headset"}, {"car-park-ride"}, {"open-again"}
ROUND, BEDDED = {"bolt-round"}, {"bedding-in"}

EXPECTED: dict[str, set[str]] = {
    # the bike as a whole
    "bike.serial": AGAIN,
    "bike.kind": DRIVE | TYRES | RIDDEN,
    "bike.use_class": MASS,
    "bike.mass_limit": MASS,
    "bike.mass_limit_includes_bike": MASS,
    "bike.mass": MASS | TYRES | SPRINGS | SAG,
    "bike.hands_delivered": HANDS,
    "bike.hire": HANDS | TOLD,
    # frame
    "bike.frame.material": POST,
    "bike.frame.post_diameter": POST,
    "bike.frame.insertion_min": POST,
    "bike.frame.insertion_max": POST,
    "bike.frame.seat_tube": POST,
    "bike.frame.rotor_max": ROTORS | AXLES,
    "bike.frame.rotor_mount_size": ROTORS,
    "bike.frame.tyre_clearance": TYRES,
    "bike.frame.axle_": AXLES,
    "bike.frame.steerer_stack_max": STEM | HEADSET,
    "bike.frame.headset_height": STEM | HEADSET,
    # fork
    "bike.fork.kind": {"fork-direction"} | SPRINGS | SAG | RIDDEN,
    "bike.fork.travel": SPRINGS | SAG | {"hose-slack"} | RIDDEN,
    "bike.fork.axle_to_crown": SAG | RIDDEN,
    "bike.fork.offset": {"fork-direction"} | RIDDEN,
    "bike.fork.sag_target": SPRINGS | SAG,
    "bike.fork.posture": SPRINGS | SAG,
    "bike.fork.pressure_max": SPRINGS | SAG,
    "bike.fork.spacers": SPRINGS | SAG,
    "bike.fork.chart": SPRINGS | SAG,
    "bike.fork.rebound_clicks": AGAIN,
    "bike.fork.compression_clicks": AGAIN,
    "bike.fork.clicks": AGAIN,
    "bike.fork.material_steerer": STEM | HEADSET,
    "bike.fork.steerer_": STEM | HEADSET,
    "bike.fork.axle_": AXLES,
    "bike.fork.rotor_mount_size": ROTORS,
    "bike.fork.rotor_max": ROTORS | AXLES,
    "bike.fork.tyre_clearance": TYRES,
    # shock and linkage
    "bike.shock.kind": SPRINGS | SAG | RIDDEN,
    "bike.shock.stroke": SPRINGS | SAG | RIDDEN | ROUND,
    "bike.shock.sag_target": SPRINGS | SAG,
    "bike.shock.posture": SPRINGS | SAG,
    "bike.shock.pressure_max": SPRINGS | SAG,
    "bike.shock.spacers": SPRINGS | SAG,
    "bike.shock.chart": SPRINGS | SAG,
    "bike.shock.rates": SPRINGS | SAG,
    "bike.shock.preload_max": SPRINGS | SAG,
    "bike.shock.rebound_clicks": AGAIN,
    "bike.shock.compression_clicks": AGAIN,
    "bike.shock.clicks": AGAIN,
    "bike.rear.": SPRINGS | SAG,
    "bike.rear.chain_growth": DRIVE,
    # wheels, axles, tyres
    "bike.axle.": AXLES | ROUND,
    "bike.wheel.": TYRES,
    "bike.tyre.": TYRES,
    # cockpit
    "bike.cockpit.stem_length": STEM | HEADSET | ROUND,
    "bike.cockpit.stem_angle": STEM | HEADSET | ROUND,
    "bike.cockpit.spacers_": STEM | HEADSET | ROUND,
    "bike.cockpit.stem_clamp_height": STEM | HEADSET,
    "bike.cockpit.steerer_gap": STEM | HEADSET,
    "bike.cockpit.stem_steerer_diameter": STEM,
    "bike.cockpit.stem_bar_diameter": STEM,
    "bike.cockpit.bar_diameter": STEM,
    "bike.cockpit.bar_": STEM | {"hose-slack"} | ROUND,
    "bike.cockpit.bar_material": STEM | ROUND,
    "bike.cockpit.bar_backsweep": AGAIN,
    "bike.cockpit.grip_length": AGAIN,
    "bike.cockpit.lever_blade": AGAIN,
    # saddle, post, pedals, crank
    "bike.post.": POST | ROUND,
    "bike.saddle.rail_": {"saddle"},
    "bike.saddle.setback": {"saddle"},
    "bike.saddle.height": POST | {"saddle"},
    "bike.saddle.ridden_height": POST | {"saddle"},
    "bike.pedal.": {"pedals"} | ROUND,
    "bike.crank.length": {"pedals"} | POST | ROUND,
    # brakes
    "bike.brake.": HELD,
    "bike.brake.front.rotor_": ROTORS,
    "bike.brake.rear.rotor_": ROTORS,
    "bike.brake.front.caliper_rotor_": ROTORS,
    "bike.brake.rear.caliper_rotor_": ROTORS,
    "bike.brake.front.rotor_diameter": ROTORS | BEDDED | ROUND,
    "bike.brake.rear.rotor_diameter": ROTORS | BEDDED | ROUND,
    "bike.brake.front.hose_route": {"hose-slack"},
    "bike.brake.rear.hose_route": {"hose-slack"},
    # drive
    "bike.drive.": DRIVE,
    "bike.electric.": DRIVE | TOLD,
    # a joint's own figures
    "bike.fastener.": ROUND,
    "bike.fastener.front_axle": AXLES | ROUND,
    "bike.fastener.rear_axle": AXLES | ROUND,
    "bike.fastener.stem_pinch": STEM | ROUND,
    "bike.fastener.faceplate": STEM | ROUND,
    "bike.fastener.seat_collar": POST | ROUND,
    "bike.fastener.saddle_clamp": {"saddle"} | ROUND,
    "bike.fastener.front_rotor": ROTORS | ROUND,
    "bike.fastener.rear_rotor": ROTORS | ROUND,
    "bike.fastener.front_caliper": ROTORS | ROUND,
    "bike.fastener.rear_caliper": ROTORS | ROUND,
    "bike.fastener.pedals": {"pedals"} | ROUND,
    # rider and place
    "rider.mass": MASS | TYRES | SPRINGS | SAG,
    "rider.kit_mass": MASS | TYRES | SPRINGS | SAG,
    "rider.mass_includes_kit": MASS | TYRES | SPRINGS | SAG,
    "rider.height": POST | SAG,
    "rider.inseam": POST | SAG,
    "rider.inseam_kind": POST | SAG,
    "rider.shoe_stack": POST,
    "rider.sex": AGAIN,
    "rider.arm_length": AGAIN,
    "rider.hand_length": AGAIN,
    "rider.ride": MASS | TYRES | SPRINGS,
    "rider.ground": TYRES,
    "rider.sag_wish": SPRINGS | SAG,
    "rider.hands_wish": HANDS | TOLD,
    "place.country": HANDS | TOLD,
    "place.hands": HANDS,
    "place.assist_": MASS,
    "place.workshop.": TYRES,
    "place.trail.altitude": TYRES,
    "place.trail.temperature": TYRES,
}

NOTHING = {
    "bike.maker": "a name on paper",
    "bike.model": "a name on paper",
    "bike.year": "a name on paper",
    "bike.frame.size": "a name on paper",
    "rider.name": "a name on paper; another person comes by the door for another rider",
    "rider.power": "nothing that is set or proved rests on it",
    "place.trail.slope": "it compares loads; nothing is set by it",
    **dict.fromkeys(
        (
            "bike.frame.reach", "bike.frame.stack", "bike.frame.head_angle",
            "bike.frame.head_tube", "bike.frame.seat_angle", "bike.frame.seat_angle_actual",
            "bike.frame.chainstay", "bike.frame.bb_drop", "bike.frame.wheelbase",
        ),
        "a corrected figure moves no part of the frame: what was read on the bike stays read",
    ),
}  # fmt: skip
SPRUNG = SPRINGS | SAG
"""Items that only a bike with such a part, or a rider, has."""


def test_every_field_of_the_sheets_is_in_the_table_once() -> None:
    for info in fields():
        path = info.path.replace("[]", "").replace("NAME", "name")
        assert (path in NOTHING) != (expected(path) is not None), path


def expected(field: str) -> set[str] | None:
    """What the table says of a field, by the longest name that begins it."""
    if field in NOTHING:
        return None
    names = [name for name in EXPECTED if field.startswith(name)]
    return EXPECTED[max(names, key=len)] if names else None


def _facts(sheets: Sheets) -> Iterator[tuple[str, object]]:
    """Every field that is written, rows by one of their fields."""
    for name, value in facts(sheets).items():
        if name.endswith((".width", ".bead")) and ".tyre." in name:
            continue
        if isinstance(value, tuple) and value and isinstance(value[0], dict):
            for key, inner in value[-1].items():
                yield f"{name}[{len(value)}].{key}", inner
        else:
            yield name, value


def _replaced(sheets: Sheets, field: str) -> Sheets | None:
    """Another kind of part, with the fields that only the first kind has left out."""
    table, _, name = field.removeprefix("bike.").rpartition(".")
    other, without = KINDS[field]
    bike = sheets.bike
    gone = {key: part.model_copy(update=dict.fromkeys(keys)) for key, keys in without.items()
            for part in [getattr(bike, key)]}  # fmt: skip
    if table:
        gone[table] = gone.get(table, getattr(bike, table)).model_copy(update={name: other})
    made = bike.model_copy(update=gone if table else {**gone, name: other})
    assert isinstance(made, Bike)
    return Sheets(made, sheets.rider, sheets.place, sheets.mass)


KINDS: dict[str, tuple[str, dict[str, tuple[str, ...]]]] = {
    "bike.fork.kind": ("coil", {"fork": ("pressure_max", "spacers", "spacers_max")}),
    "bike.shock.kind": ("coil", {"shock": ("pressure_max", "spacers")}),
    "bike.post.kind": ("plain", {"post": ("travel", "remote")}),
}


@pytest.mark.parametrize("name", BIKES)
def test_every_field_takes_away_what_rests_on_it(name: str) -> None:
    found = released(name)
    walked, unchanged = 0, []
    for place, (field, value) in enumerate(_facts(found.sheets)):
        if not FULL and place % 3 != ("trail", "hardtail", "longtravel").index(name):
            continue
        new = another(found.sheets, field, value)
        if new is None and field in KINDS:
            new = _replaced(found.sheets, field)
        if new is None:
            unchanged.append(field)
            continue
        _check(found, new, field)
        walked += 1
    tally.walked("fields changed after release", name, walked)
    assert set(unchanged) <= {"bike.kind", "bike.rear.linkage"}
    assert walked > (150 if FULL else 50)


def _check(found: Released, new: Sheets, field: str) -> None:
    state, stands = after(found, changed(found, new, [field]))
    lost = {
        step for step in found.state.done()
        if step not in state.planned_steps() or state.step(step).status != "done"
    }  # fmt: skip
    missing = {row.item for rows in stands.missing.values() for row in rows}
    if field in NOTHING:
        assert not lost and stands.released is not None, (field, lost)
        return
    wanted = expected(field)
    assert wanted is not None, field
    has = {step.safety for step in found.state.planned_steps().values()}
    has |= {step.safety for step in state.planned_steps().values()}
    assert lost, f"{field} took nothing away"
    assert missing >= {item for item in wanted if item in has or item not in SPRUNG}, field
    assert stands.released is None and stands.lapsed, field
    for step in lost & set(state.planned_steps()):
        assert state.step(step).said, step
