"""Facts that follow from others; an unknown one leaves what hangs on it unknown."""

from __future__ import annotations

from cyclewright.knowledge.derived import derived

FRONT, REAR = "bike.brake.front.kind", "bike.brake.rear.kind"


def test_either_brake_decides_and_an_unknown_one_stays_open() -> None:
    assert derived({FRONT: "cable", REAR: "hydraulic"})["derived.any_hydraulic"] is True
    assert derived({FRONT: "cable", REAR: "cable"})["derived.any_hydraulic"] is False
    assert "derived.any_hydraulic" not in derived({FRONT: "cable"})
    assert derived({FRONT: "cable"})["derived.any_cable"] is True
    assert "derived.hose_in_headset" not in derived({"bike.brake.front.hose_route": "outside"})


def test_a_bike_has_gears_unless_it_says_it_has_none() -> None:
    assert derived({})["derived.geared"] is True
    assert derived({"bike.drive.speeds": 1})["derived.geared"] is False
    assert derived({"bike.drive.sprockets": (18,)})["derived.geared"] is False
    assert derived({"bike.drive.chainrings": (36, 24)})["derived.chainring_count"] == 2


def test_fittings_are_the_countrys_row() -> None:
    assert "bell" in str(derived({"place.country": "GB"})["derived.fittings"])
    assert "derived.fittings" not in derived({"place.country": "KE"})
    assert "derived.fittings" not in derived({})


def test_an_adapter_is_known_by_its_size_or_its_bolts() -> None:
    assert derived({})["derived.front_adapter"] is False
    assert derived({"bike.brake.front.rotor_adapter": 0.18})["derived.front_adapter"] is True
    assert derived({"bike.fastener.rear_adapter.max": 8.0})["derived.rear_adapter"] is True
