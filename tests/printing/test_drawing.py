"""The drawing: to scale, safe under a strict policy, legible, and moved by what moves the bike."""

from __future__ import annotations

import math
import re
import xml.etree.ElementTree as ET
from itertools import combinations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from cyclewright.mechanics.linkage import linkage
from cyclewright.printing import bicycle
from cyclewright.printing.bicycle import Details
from cyclewright.printing.callouts import callouts
from cyclewright.printing.drawing import TYPE_HEIGHT, Labels, bike_svg, stylesheet
from cyclewright.printing.links import at_travel
from cyclewright.printing.placing import Box, measure
from cyclewright.printing.scene import (
    LAYERS,
    USUAL,
    bottom_leg,
    insertion_marks,
    post_end,
    scene_of,
)
from printing.bikes import BIKES, RIDERS, solution

SVG = "{http://www.w3.org/2000/svg}"
POSTURES = ("seated", "standing")
POST = Details(post_insertion=0.2, insertion_least=0.1, insertion_most=0.3)
PIVOTS = {
    "pivot": (0.028, 0.088),
    "shock_frame": (0.127, 0.302),
    "shock_arm": (-0.091, 0.231),
    "axle": (-math.sqrt(0.440**2 - 0.012**2), 0.012),
}


def _circles(drawing: str, class_: str) -> list[tuple[float, float, float]]:
    found = ET.fromstring(drawing).iter(f"{SVG}circle")
    return [
        (float(c.attrib["cx"]), float(c.attrib["cy"]), float(c.attrib["r"]))
        for c in found
        if c.attrib.get("class") == class_
    ]


def _said(drawing: str) -> list[str]:
    return [item.text or "" for item in ET.fromstring(drawing).iter(f"{SVG}text")]


@pytest.mark.parametrize("posture", POSTURES)
@pytest.mark.parametrize("rider", RIDERS)
@pytest.mark.parametrize("bike", BIKES)
def test_no_words_overlap_and_all_are_inside(bike: str, rider: str, posture: str) -> None:
    scene = scene_of(solution(bike, rider), posture, POST)
    for size in (TYPE_HEIGHT["print"], TYPE_HEIGHT["phone"]):
        placed = callouts(scene, LAYERS, size, Box(-0.5, -0.2, 1.8, 1.9))
        assert not any(a.box.overlaps(b.box) for a, b in combinations(placed, 2))
    drawing = bike_svg(solution(bike, rider), posture)
    left, top, wide, high = (float(n) for n in ET.fromstring(drawing).attrib["viewBox"].split())
    for item in ET.fromstring(drawing).iter(f"{SVG}text"):
        assert left < float(item.attrib["x"]) < left + wide
        assert top < float(item.attrib["y"]) < top + high


@pytest.mark.parametrize("bike", BIKES)
def test_it_is_to_scale_in_millimetres(bike: str) -> None:
    solved = solution(bike)
    rear, front = _circles(bike_svg(solved, show=()), "hub")
    state = solved.seated.geometry
    assert front[0] - rear[0] == pytest.approx(float(state.wheelbase[0]) * 1000, abs=0.15)
    assert -rear[1] == pytest.approx(float(state.rear_axle[0][1]) * 1000, abs=0.1)
    knobs = _circles(bike_svg(solved), "knobs")
    for (*_, radius), tyre in zip(
        knobs, (solved.case.rear_tyre, solved.case.front_tyre), strict=True
    ):
        assert radius + 6 == pytest.approx(float(tyre.radius[0]) * 1000, abs=0.2)


def test_mixed_wheels_are_drawn_unlike_and_equal_ones_alike() -> None:
    (*_, rear), (*_, front) = _circles(bike_svg(solution("longtravel")), "knobs")
    assert front - rear > 10
    (*_, rear), (*_, front) = _circles(bike_svg(solution("hardtail")), "knobs")
    assert front == pytest.approx(rear, abs=1)


@pytest.mark.parametrize("posture", POSTURES)
def test_a_strict_policy_has_nothing_to_block(posture: str) -> None:
    drawing = bike_svg(solution(), posture)
    assert "<style" not in drawing
    assert not re.search(
        r"\sstyle=|\son\w+=|<script|href=|https?://(?!www\.w3\.org/2000/svg)", drawing
    )


def test_every_class_that_is_drawn_has_a_rule() -> None:
    known = set(re.findall(r"\.([a-z][\w-]*)", re.sub(r"/\*.*?\*/", "", stylesheet(), flags=re.S)))
    structure = {"layer", "words", "leaders", "ground", "wheels", "wheel", "frame", "fork", "drive",
                 "cockpit", "controls", "post", "crank", "near", "skeleton", "scale", "rider",
                 "ghost", "lengths", "levers", "angles", "insertion"}  # fmt: skip
    for bike in BIKES:
        drawing = bike_svg(
            solution(bike), show=LAYERS, before=solution(bike, "heavy"), details=POST
        )
        for item in ET.fromstring(drawing).iter():
            for name in item.attrib.get("class", "").split():
                assert name in known | structure, name


def test_the_embedded_stylesheet_needs_no_custom_properties() -> None:
    flat = stylesheet(flat=True)
    assert "var(" not in flat
    assert "--" not in flat
    assert "@media" not in flat
    assert "@media screen and (prefers-color-scheme: dark)" in stylesheet()
    assert "@media print" in stylesheet()


def test_blue_and_red_are_left_to_compression_and_rebound() -> None:
    for code in re.findall(r"#([0-9a-f]{6})\b", stylesheet()):
        red, green, blue = (int(code[at : at + 2], 16) for at in (0, 2, 4))
        assert not (blue > red + 60 and blue > green + 40), code
        assert not (red > green + 90 and red > blue + 90 and green < 80), code


def test_it_is_told_in_words_to_those_who_hear_it() -> None:
    root = ET.fromstring(bike_svg(solution(), title='A "fine" <bike>\x07', ident="b7"))
    assert root.attrib["role"] == "img"
    named = root.attrib["aria-labelledby"].split()
    texts = {item.attrib.get("id"): item.text for item in root.iter()}
    assert texts[named[0]] == 'A "fine" <bike> '
    assert "Front wheel carries" in (texts[named[1]] or "")
    assert "Shock sags" in (texts[named[1]] or "")


def test_only_the_layers_asked_for_are_drawn() -> None:
    bare = bike_svg(solution(), show=())
    assert "data-layer" not in bare
    assert "rider-fill" not in bare
    for layer in LAYERS[1:]:
        assert f'data-layer="{layer}"' in bike_svg(solution(), show=(layer,), details=POST)
    assert _said(bike_svg(solution(), show=(), labels="none")) == _said(bare)
    assert len(_said(bike_svg(solution(), labels="none"))) == len(_said(bare)) == 4


def test_a_rigid_end_says_nothing_of_sag() -> None:
    said = " ".join(_said(bike_svg(solution("hardtail"))))
    assert "Fork" in said
    assert "Shock" not in said
    assert "Shock" not in bike_svg(solution("hardtail"))


@pytest.mark.parametrize("labels", ["page", "print", "phone"])
def test_words_grow_for_smaller_drawings(labels: Labels) -> None:
    drawing = bike_svg(solution(), labels=labels)
    sizes = {float(item.attrib["font-size"]) for item in ET.fromstring(drawing).iter(f"{SVG}text")}
    assert max(sizes) == pytest.approx(TYPE_HEIGHT[labels] * 1000)


def test_what_was_before_stands_behind() -> None:
    higher = solution("trail", "light", "bike.cockpit.spacers_under+=20 mm")
    drawing = bike_svg(higher, before=solution())
    assert 'class="before"' in drawing
    assert "as it was before" in drawing
    assert 'class="before"' not in bike_svg(higher)


def test_a_higher_bar_is_drawn_higher() -> None:
    low = scene_of(solution(), "seated").bike.grip.imag
    high = scene_of(solution("trail", "light", "bike.cockpit.spacers_under+=20 mm"), "seated")
    assert 0.012 < high.bike.grip.imag - low < 0.024


def test_the_linkage_keeps_its_lengths_and_shortens_the_shock() -> None:
    scene = scene_of(solution(), "seated")
    assert scene.bike.rest is not None
    now, rest = bicycle.linkage(scene.bike), bicycle.linkage(scene.bike.rest)
    for one, other in (("rocker", "stay"), ("rocker", "upper_eye"), ("main", "lower_eye")):
        lengths = [abs(getattr(link, one) - getattr(link, other)) for link in (now, rest)]
        assert lengths[0] == pytest.approx(lengths[1], abs=1e-6)
    stays = abs(now.stay - scene.bike.rear_axle), abs(rest.stay - scene.bike.rest.rear_axle)
    assert stays[0] == pytest.approx(stays[1], abs=1e-4)
    closed = abs(rest.upper_eye - rest.lower_eye) - abs(now.upper_eye - now.lower_eye)
    assert closed == pytest.approx(scene.shock_sag, rel=0.5)


def test_a_dropper_is_down_when_the_rider_stands() -> None:
    details = Details(post_travel=0.15)
    seated = scene_of(solution(), "seated", details).bike
    standing = scene_of(solution(), "standing", details).bike
    plain = scene_of(solution(), "standing", Details()).bike
    height = [abs(bike.saddle - bike.seat_clamp) for bike in (seated, standing, plain)]
    assert height[1] < height[0] - 0.05
    assert height[2] == pytest.approx(height[0], abs=1e-6)


@pytest.mark.parametrize("rider", RIDERS)
def test_the_leg_at_the_bottom_bends_as_its_label_says(rider: str) -> None:
    scene = scene_of(solution("longtravel", rider), "seated")
    leg = bottom_leg(scene)
    assert leg is not None
    hip, knee, ankle = leg
    ways = (knee - hip), (ankle - knee)
    bend = abs(math.remainder(math.atan2(ways[1].imag, ways[1].real)
                              - math.atan2(ways[0].imag, ways[0].real), math.tau))  # fmt: skip
    assert bend == pytest.approx(scene.angles["knee_bottom"], abs=1e-6)
    assert bottom_leg(scene_of(solution("longtravel", rider), "standing")) is None


def test_loads_said_add_up_to_all_that_stands_on_the_ground() -> None:
    said = _said(bike_svg(solution("longtravel", "heavy")))
    masses = [int(text.split()[0]) for text in said if re.fullmatch(r"\d+ kg", text)]
    state = solution("longtravel", "heavy").seated
    total = float(state.front_load[0] + state.rear_load[0]) / 9.80665
    assert sum(masses) == pytest.approx(total, abs=1)
    shares = [int(found[1]) for text in said if (found := re.match(r"(?:Front|Rear) (\d+)", text))]
    assert sum(shares) in (99, 100, 101)


@settings(max_examples=8)
@given(
    st.integers(0, 35),
    st.integers(-30, 25),
    st.integers(60, 110),
    st.sampled_from(POSTURES),
)
def test_any_cockpit_and_rider_draws_cleanly(
    spacers: int, rise: int, mass: int, posture: str
) -> None:
    solved = solution(
        "trail",
        "heavy",
        f"bike.cockpit.spacers_under={spacers} mm",
        f"bike.cockpit.bar_rise+={rise if rise >= 0 else 0} mm",
        f"rider.mass={mass} kg",
    )
    drawing = bike_svg(solved, posture)
    assert "nan" not in drawing.casefold().replace("tarnwick", "")
    ET.fromstring(drawing)


def test_the_post_stands_as_deep_as_it_is_said() -> None:
    scene = scene_of(solution("hardtail"), "seated", POST)
    end = post_end(scene)
    assert end is not None
    assert abs(scene.bike.seat_clamp - end) == pytest.approx(0.2)
    depths = {side: abs(scene.bike.seat_clamp - at) for side, at in insertion_marks(scene)}
    assert depths == pytest.approx({"least": 0.1, "most": 0.3})
    said = _said(bike_svg(solution("hardtail"), details=POST))
    assert "post in 200 mm" in said and "100 to 300 allowed" in said
    assert not insertion_marks(scene_of(solution("hardtail"), "seated"))


def test_a_post_of_unknown_length_says_nothing() -> None:
    assert "ost in" not in " ".join(_said(bike_svg(solution("hardtail"))))


def test_what_cannot_be_reached_is_written_on_the_drawing() -> None:
    short = " ".join(_said(bike_svg(solution("trail", "light"))))
    assert "out of reach: leg too short" in short
    assert "out of reach" not in " ".join(_said(bike_svg(solution("trail", "heavy"))))


def test_real_pivots_keep_their_lengths_and_close_the_shock() -> None:
    made = linkage("single-pivot", PIVOTS)
    scene = scene_of(solution("longtravel", "heavy"), "seated", Details(linkage=made))
    assert scene.bike.rest is not None and scene.bike.links is not None
    now, rest = scene.bike.links.points, at_travel(made, 0.0).points
    for one in ("axle", "shock_arm"):
        assert abs(now[one] - now["pivot"]) == pytest.approx(abs(rest[one] - rest["pivot"]))
    upper, lower = bicycle.shock_ends(scene.bike)
    unloaded = bicycle.shock_ends(scene.bike.rest)
    closed = abs(unloaded[0] - unloaded[1]) - abs(upper - lower)
    assert closed == pytest.approx(scene.shock_sag, rel=0.15)
    drawing = bike_svg(solution("longtravel", "heavy"), details=Details(linkage=made))
    assert drawing.count('class="pivot"') == 3


FOUR_BAR = {
    "pivot": (0.0, 0.06),
    "stay_pivot": (-0.39, 0.02),
    "rocker_stay": (-0.10, 0.34),
    "rocker_pivot": (-0.06, 0.30),
    "shock_rocker": (0.0, 0.35),
    "shock_frame": (0.15, 0.20),
    "axle": (-0.434, 0.035),
}


def test_a_four_bar_is_drawn_with_every_pivot() -> None:
    made = linkage("four-bar", FOUR_BAR)
    drawing = bike_svg(solution("trail", "heavy"), details=Details(linkage=made))
    assert drawing.count('class="pivot"') == len(FOUR_BAR) - 1
    assert "nan" not in drawing.casefold()


def test_a_pulled_blade_comes_nearer_and_stays_off_the_bar() -> None:
    near = bike_svg(solution("trail", "heavy"), show=("sweep",), details=Details(lever_reach=0.07))
    (rest,), (pulled,) = _circles(near, "blade"), _circles(near, "blade-pulled")
    (grip,) = _circles(near, "grip")
    away = [math.hypot(one[0] - grip[0], one[1] - grip[1]) for one in (rest, pulled)]
    assert away == pytest.approx([70.0, 30.0], abs=0.2)
    assert "Blade 70 mm" in _said(near)


CIRCLES = {"hub", "joint", "centre", "post-end", "blade", "blade-pulled", "grip", "nut"}
"""Drawn circles that no words may stand on: hubs, bottom bracket, joints, marks of the layers."""
SETS = (*((layer,) for layer in LAYERS), ("rider", "loads", "sag"), USUAL, LAYERS)


def _words_at(drawing: str) -> list[tuple[str, Box]]:
    """Every text as drawn, with the box that its letters fill."""
    found = []
    for item in ET.fromstring(drawing).iter(f"{SVG}text"):
        size = float(item.attrib["font-size"])
        width, height = measure((item.text or "",), size)
        start = {"middle": 0.5, "end": 1.0}.get(item.attrib.get("text-anchor", ""), 0.0)
        left, base = float(item.attrib["x"]) - start * width, float(item.attrib["y"])
        found.append((item.text or "", Box(left, base - height, left + width, base)))
    return found


def _marked(drawing: str) -> list[tuple[str, Box]]:
    """The circles that matter, as boxes."""
    return [
        (str(item.attrib["class"]), Box(x - r, y - r, x + r, y + r))
        for item in ET.fromstring(drawing).iter(f"{SVG}circle")
        if item.attrib.get("class") in CIRCLES
        for x, y, r in [tuple(float(item.attrib[key]) for key in ("cx", "cy", "r"))]
    ]


@pytest.mark.parametrize("posture", POSTURES)
@pytest.mark.parametrize("rider", RIDERS)
@pytest.mark.parametrize("bike", BIKES)
def test_no_words_stand_on_a_hub_a_joint_or_a_mark(bike: str, rider: str, posture: str) -> None:
    """Every layer by itself and together, as the drawing really has them; alone in large words."""
    sizes: tuple[Labels, ...] = ("phone", "page", "print")
    for show in SETS:
        for labels in sizes[:1] if len(show) == 1 else sizes:
            drawing = bike_svg(solution(bike, rider), posture, show, labels=labels, details=POST)
            words, marks = _words_at(drawing), _marked(drawing)
            assert len(marks) >= 8
            for said, box in words:
                hit = [name for name, mark in marks if box.overlaps(mark)]
                assert not hit, (said, hit, show, labels)
            for (one, first), (other, second) in combinations(words, 2):
                assert not first.overlaps(second), (one, other, show, labels)


def test_another_font_a_fifth_wider_makes_nothing_overlap() -> None:
    drawing = bike_svg(solution("trail", "heavy"), labels="print", style=True, details=POST)
    words = []
    for said, box in _words_at(drawing):
        more = 0.1 * (box.right - box.left)
        words.append((said, Box(box.left - more, box.bottom, box.right + more, box.top)))
    for (one, first), (other, second) in combinations(words, 2):
        assert not first.overlaps(second), (one, other)
