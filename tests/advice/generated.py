"""Bikes, riders and places drawn over the whole space of the sheets; on none of them do two
figures clash. All invented; the same seed draws the same bike.
"""

from __future__ import annotations

from dataclasses import replace
from functools import lru_cache
from math import radians
from random import Random
from typing import Any, cast

from cyclewright.advice.height import saddle_height
from cyclewright.errors import Problem
from cyclewright.knowledge import rules
from cyclewright.knowledge.defaults import fill
from cyclewright.mechanics import tyre as tyre_sums
from cyclewright.sheets.bike import Bike
from cyclewright.sheets.build import build
from cyclewright.sheets.closure import closure
from cyclewright.sheets.place import Place
from cyclewright.sheets.rider import Rider
from cyclewright.sheets.sheets import Sheets

Raw = dict[str, Any]
COUNTRIES = ("GB", "DE", "US", "FR", "MT")
HANDS = ("front-left", "front-right")
MATERIALS = ("alloy", "carbon", "steel", "titanium")


def mm(length: float) -> str:
    """Metres as a sheet has them."""
    return f"{length * 1000:.1f} mm"


def drawn(seed: int) -> Sheets:
    """The bike of that seed, with a rider on most and every fact stated."""
    random = Random(seed)
    bike = _bike(random)
    rider = _rider(random) if random.random() < 0.85 else None
    place: Raw = {"country": random.choice(COUNTRIES)}
    found = _sheets(bike, rider, place)
    return replace(found, mass=None if rider else _mass())


@lru_cache(maxsize=400)
def fitted(seed: int) -> Sheets:
    """The same, with a rider and a post whose limits leave that rider's saddle height."""
    random = Random(seed)
    bike, rider = _bike(random), _rider(random)
    _agree(bike, rider, country := random.choice(COUNTRIES))
    found = _sheets(bike, rider, {"country": country})
    height = saddle_height(fill(found).sheets)
    assert height is not None
    if bike["post"]["kind"] == "integrated":
        bike["frame"]["seat_tube"] = mm(min(height.value - 0.046 - 0.05, 0.6))
    else:
        _post_for(bike, height.value, random)
    return _sheets(bike, rider, {"country": country})


def _mass() -> Any:
    from cyclewright.units import parse

    return parse("80 kg", "mass")


def _sheets(bike: Raw, rider: Raw | None, place: Raw) -> Sheets:
    problems: list[Problem] = []
    made = (
        build(bike, "bike", problems),
        None if rider is None else build(rider, "rider", problems),
        build(place, "place", problems),
    )
    assert not problems, problems
    return Sheets(cast(Bike, made[0]), cast("Rider | None", made[1]), cast(Place, made[2]))


def _rider(random: Random) -> Raw:
    height = random.uniform(1.5, 1.98)
    rider: Raw = {
        "mass": f"{random.uniform(50, 105):.1f} kg",
        "kit_mass": f"{random.uniform(3, 8):.1f} kg",
        "height": f"{height:.3f} m",
        "inseam": mm(height * random.uniform(0.45, 0.49)),
        "ride": random.choice(["cross-country", "trail"]),
    }
    if random.random() < 0.2:
        rider["hands_wish"] = random.choice(HANDS)
    return rider


def _agree(bike: Raw, rider: Raw, country: str) -> None:
    """Hands as the country wants them, and no wish beside them."""
    rider.pop("hands_wish", None)
    bike["hands_delivered"] = "front-right" if country in ("GB", "MT") else "front-left"


def _bike(random: Random) -> Raw:
    kind = random.choice(["full-suspension", "full-suspension", "hardtail", "rigid"])
    bike: Raw = {
        "kind": kind,
        "use_class": random.choice([4, 5]),
        "mass": f"{random.uniform(11, 24):.1f} kg",
        "mass_limit": "150 kg",
        "mass_limit_includes_bike": True,
        "hands_delivered": random.choice(HANDS),
    }
    if random.random() < 0.15:
        bike["hire"] = True
    bike["axle"], bike["wheel"], bike["tyre"] = _wheels(random, kind)
    bike["frame"], bike["fork"] = _frame(random, kind, bike)
    _suspension(random, kind, bike)
    bike["cockpit"] = _cockpit(random, bike)
    bike["post"] = _post(random, bike)
    bike["saddle"] = {"height": "46 mm", "rail_shape": "round", "rail_height": "7 mm"}
    bike["post"] |= {"rail_shape": random.choice(["round", "any"]), "rail_height": "7 mm"}
    bike["crank"] = {"length": random.choice(["165 mm", "170 mm", "175 mm"])}
    bike["pedal"] = {
        "kind": random.choice(["flat", "clip"]),
        "key": random.choice(["hex-6", "hex-8", "spanner-15"]),
        "stack": f"{random.randint(7, 16)} mm",
    }
    bike["brake"] = _brakes(random, bike)
    bike["drive"] = _drive(random, bike)
    if random.random() < 0.2:
        bike["electric"] = {
            "motor": "M-1",
            "battery": "B-1, 625 Wh",
            "assist_speed": "25 km/h",
            "power": "250 W",
        }
    bike["fastener"] = _fasteners(random, bike)
    return bike


def _wheels(random: Random, kind: str) -> tuple[Raw, Raw, Raw]:
    beads = random.choice([(622, 622), (622, 584), (584, 584), (559, 559)])
    axle: Raw = {}
    wheel: Raw = {}
    tyre: Raw = {}
    for end, bead in zip(("front", "rear"), beads, strict=True):
        held = random.choice(["tool", "tool", "lever", "quick-release", "nuts"])
        through = held in ("tool", "lever")
        axle[end] = {
            "kind": held,
            "diameter": ("15 mm" if end == "front" else "12 mm") if through else "9 mm",
            "width": ("110 mm" if end == "front" else "148 mm") if through else "100 mm",
            "pitch": random.choice(["1 mm", "1.5 mm"]),
            "length": "158 mm" if end == "front" else "180 mm",
            "head": random.choice(["flat", "conical"]),
        }
        width = random.randint(50, 66)
        row = rules.tyre_on_rim(width / 1000)
        assert row is not None
        hooked = random.random() < 0.5
        wheel[end] = {
            "bead": bead,
            "rim_width": mm(random.uniform(row.rim_min + 0.001, min(row.rim_max - 0.001, 0.036))),
            "hooked": hooked,
            "pressure_max": "3.5 bar",
            "spokes": 32,
            "hole_count": 32,
        }
        tyre[end] = {
            "size": f"{width}-{bead}",
            "pressure_min": "1.2 bar",
            "pressure_max": "3.4 bar",
            "tubeless": random.random() < 0.6,
            "hookless_ok": True,
            "insert": random.random() < 0.2,
        }
    return axle, wheel, tyre


def _on_rim(bike: Raw, end: str) -> float:
    """Width of the tyre on its rim, or its nominal width where that is more [m]."""
    width = float(bike["tyre"][end]["size"].split("-")[0]) / 1000
    rim = float(bike["wheel"][end]["rim_width"].split()[0]) / 1000
    return max(width, float(tyre_sums.section_on_rim(width, rim)))


def _radius(bike: Raw, end: str) -> float:
    width, bead = bike["tyre"][end]["size"].split("-")
    return float(bead) / 2000 + float(width) / 1000


def _frame(random: Random, kind: str, bike: Raw) -> tuple[Raw, Raw]:
    fork_kind = "rigid" if kind == "rigid" else random.choice(["air", "air", "coil"])
    travel = random.randint(100, 180) / 1000
    big = bike["wheel"]["front"]["bead"] == 622
    crown = (0.411 if big else 0.393) + travel if fork_kind != "rigid" else 0.47
    angle = random.uniform(63.5, 69.0)
    drop = random.uniform(10, 45) / 1000
    figures = {
        "reach": random.uniform(0.40, 0.51),
        "chainstay": random.uniform(0.425, 0.450),
        "bb_drop": drop,
        "axle_to_crown": crown,
        "offset": random.uniform(0.037, 0.051),
    }
    # the stack that leaves a head tube of some 90 to 150 mm closes the front
    wanted, stack = random.uniform(0.09, 0.15), 0.6
    for _ in range(3):
        made = closure(
            stack=stack,
            head_angle=radians(angle),
            radius_front=_radius(bike, "front"),
            radius_rear=_radius(bike, "rear"),
            **figures,
        )
        stack += (wanted - made.head_tube) * 0.92
    ends = {}
    for end, part in (("front", "fork"), ("rear", "frame")):
        axle = bike["axle"][end]
        ends[part] = {
            "axle_diameter": axle["diameter"],
            "axle_width": axle["width"],
            "axle_pitch": axle["pitch"],
            "axle_length": axle["length"],
            "axle_head": axle["head"],
            "tyre_clearance": mm(_on_rim(bike, end) + random.uniform(0.002, 0.008)),
            "rotor_max": random.choice(["203 mm", "220 mm"]),
            "rotor_mount_size": random.choice(["160 mm", "180 mm"]),
        }
    frame = ends["frame"] | {
        "material": random.choice(MATERIALS),
        "stack": mm(stack),
        "head_angle": f"{angle:.4f} deg",
        "head_tube": mm(made.head_tube),
        "headset_height": "8 mm",
        "seat_angle": "76 deg",
        "seat_angle_actual": f"{random.uniform(70, 75):.1f} deg",
        "seat_tube": "400 mm",
        "wheelbase": mm(made.wheelbase),
        "post_diameter": random.choice(["30.9 mm", "31.6 mm", "34.9 mm"]),
        "insertion_min": f"{random.randint(80, 110)} mm",
        "insertion_max": f"{random.randint(200, 300)} mm",
        "steerer_stack_max": f"{random.randint(25, 45)} mm",
        **{name: mm(figures[name]) for name in ("reach", "chainstay", "bb_drop")},
    }
    fork = ends["fork"] | {
        "kind": fork_kind,
        "axle_to_crown": mm(crown),
        "offset": mm(figures["offset"]),
        "material_steerer": random.choice(["alloy", "alloy", "carbon", "steel"]),
        "steerer_diameter": "28.6 mm",
        "steerer_stack_max": f"{random.randint(25, 45)} mm",
        "steerer_stack_min": f"{random.choice([0, 3, 5])} mm",
    }
    if fork_kind != "rigid":
        fork |= {"travel": mm(travel), "rebound_clicks": 16, "pressure_max": "150 psi"}
        if random.random() < 0.7:
            fork["compression_clicks"] = 12
    return frame, fork


def _suspension(random: Random, kind: str, bike: Raw) -> None:
    if kind != "full-suspension":
        return
    travel = random.randint(110, 170) / 1000
    ratio = random.uniform(2.2, 3.0)
    shock = random.choice(["air", "coil"])
    bike["shock"] = {
        "kind": shock,
        "stroke": mm(travel / ratio),
        "rebound_clicks": 14,
        "compression_clicks": 9,
    }
    if shock == "coil":
        bike["shock"]["rates"] = ["350 lb/in", "450 lb/in", "550 lb/in"]
    bike["rear"] = {"travel": mm(travel), "chain_growth": f"{random.randint(5, 25)} mm"}


def _cockpit(random: Random, bike: Raw) -> Raw:
    least = float(bike["fork"]["steerer_stack_min"].split()[0])
    most = min(float(bike[part]["steerer_stack_max"].split()[0]) for part in ("frame", "fork"))
    under, over, gap = random.uniform(least, most), random.uniform(5, 20), random.uniform(2, 4)
    clamp, diameter = random.randint(36, 44), random.choice(["31.8 mm", "35 mm"])
    tube = float(bike["frame"]["head_tube"].split()[0])
    bike["fork"]["steerer_length"] = f"{tube + 8 + under + clamp + over - gap:.2f} mm"
    return {
        "spacers_under": f"{under:.2f} mm",
        "spacers_over": f"{over:.2f} mm",
        "stem_clamp_height": f"{clamp} mm",
        "stem_length": f"{random.choice([35, 40, 50, 60])} mm",
        "stem_bar_diameter": diameter,
        "stem_steerer_diameter": "28.6 mm",
        "steerer_gap": f"{gap:.2f} mm",
        "bar_diameter": diameter,
        "bar_material": random.choice(["alloy", "carbon"]),
        "bar_width": f"{random.randint(700, 820)} mm",
        "bar_rise": f"{random.choice([0, 10, 20, 30])} mm",
    }


def _post(random: Random, bike: Raw) -> Raw:
    kind = random.choice(["plain", "dropper", "dropper", "integrated"])
    post: Raw = {"kind": kind, "material": "alloy" if kind == "dropper" else random.choice(
        ["alloy", "carbon", "titanium"])}  # fmt: skip
    if kind == "integrated":
        return post
    post |= {
        "diameter": bike["frame"]["post_diameter"],
        "insertion_min": f"{random.randint(70, 100)} mm",
        "length": "400 mm",
    }
    if kind == "dropper":
        post |= {
            "travel": random.choice(["100 mm", "125 mm", "150 mm"]),
            "remote": random.choice(["inside", "outside", "wireless"]),
            "head_height": "40 mm",
        }
    return post


def _post_for(bike: Raw, height: float, random: Random) -> None:
    """Seat tube and post that leave this saddle height, both limits kept with room to spare."""
    post, frame = bike["post"], bike["frame"]
    travel = float(post.get("travel", "0 mm").split()[0]) / 1000
    least = max(float(x["insertion_min"].split()[0]) for x in (post, frame)) / 1000
    most = float(frame["insertion_max"].split()[0]) / 1000
    exposed = max(travel + 0.04 + random.uniform(0.03, 0.06), height - 0.046 - 0.6)
    inserted = random.uniform(least + 0.03, most - 0.03)
    frame["seat_tube"] = mm(height - 0.046 - exposed)
    post["length"] = mm(exposed + inserted)


def _brakes(random: Random, bike: Raw) -> Raw:
    fluid = random.choice(["mineral", "dot4", "dot5.1"])
    made: Raw = {}
    for end, part in (("front", "fork"), ("rear", "frame")):
        mount = float(bike[part]["rotor_mount_size"].split()[0])
        rotor = random.choice([size for size in (160, 180, 203) if size >= mount])
        kind = random.choice(["hydraulic", "hydraulic", "hydraulic", "cable"])
        made[end] = {
            "kind": kind,
            "rotor_diameter": f"{rotor} mm",
            "rotor_thickness": random.choice(["1.8 mm", "2 mm"]),
            "rotor_min": "1.5 mm",
            "caliper_rotor_max": "2.3 mm",
            "caliper_rotor_min": "1.6 mm",
            "rotor_mount": random.choice(["six-bolt", "spline"]),
            "hose_route": random.choice(["outside", "inside", "headset"]),
        }
        if rotor != mount:
            made[end]["rotor_adapter"] = f"{rotor} mm"
        if kind == "hydraulic":
            made[end] |= {
                "lever": random.choice(["two-way", "one-way"]),
                "fluid": fluid,
                "caliper_fluid": fluid,
                "hose_fluid": fluid,
                "coupling": random.choice(["open", "sealed"]),
            }
    return made


def _drive(random: Random, bike: Raw) -> Raw:
    teeth, sprockets = random.choice(
        [
            ([32], [10, 12, 14, 16, 18, 21, 24, 28, 33, 39, 45, 51]),
            ([30], [11, 13, 15, 18, 21, 24, 28, 34, 40, 46]),
            ([36, 24], [11, 13, 15, 17, 19, 22, 25, 28, 32, 36]),
            ([32], [18]),
        ]
    )
    growth = float(bike.get("rear", {}).get("chain_growth", "0 mm").split()[0])
    stay = float(bike["frame"]["chainstay"].split()[0])
    links = int(2 * (stay + growth) / 12.7 + (max(teeth) + max(sprockets)) / 2) + 6
    return {
        "chainrings": teeth,
        "sprockets": sprockets,
        "speeds": len(sprockets),
        "capacity": max(teeth) - min(teeth) + max(sprockets) - min(sprockets) + 1,
        "pull": random.choice(["cable-normal", "cable-reverse", "electronic"]),
        "chain_links": links + links % 2,
    }


def _fasteners(random: Random, bike: Raw) -> Raw:
    """Figures for what may have no default, and for some that may."""
    wanted = [
        "faceplate", "stem_pinch", "brake_levers", "shifter", "dropper_remote", "seat_collar",
        "expander", "mast_head", "grips", "front_derailleur", "bottle_cage", "crank", "pivots",
        "front_axle", "rear_axle", "front_rotor", "rear_rotor",
    ]  # fmt: skip
    made: Raw = {}
    for name in wanted:
        low = random.choice([4, 5, 6])
        made[name] = random.choice(
            [
                {"min": f"{low} N.m", "max": f"{low + 2} N.m"},
                {"max": f"{low + 1} N.m"},
                {"target": f"{low} N.m"},
            ]
        )
    for name, part in (("faceplate", "handlebar"), ("stem_pinch", "fork"), ("seat_collar", "post")):
        made[name]["part"] = part
    for name in ("chain_guide", "rocker_pivot"):
        if random.random() < 0.3:
            made[name] = {"min": "5 N.m", "max": "7 N.m"}
    if bike["cockpit"]["bar_material"] == "alloy" and random.random() < 0.7:
        del made["grips"]
    if random.random() < 0.3:
        made["pivots"]["verb"] = "leave"
    return made
