"""Solutions of a bike on record are shared while nothing comes that can move them."""

from __future__ import annotations

from cyclewright.workshop import advising, build, known, readings
from workshop.shops import opened, photo


def test_a_tick_shares_the_solution_and_a_value_makes_a_new_one(shop):
    bike = opened(shop)
    first = advising.bike_solution(shop, bike)
    build.record_step(shop, bike, "carton-outside", photo=photo())
    build.record_step(shop, bike, "carton-open", put_off="no knife at hand")
    assert advising.bike_solution(shop, bike) is first
    readings.read(shop, bike, "fork-sag", "18 mm")
    assert advising.bike_solution(shop, bike) is not first


def test_a_change_of_the_sheets_and_its_undoing_are_seen(shop):
    bike = opened(shop)

    def height() -> float | None:
        setting = advising.advise_bike(shop, bike).setting("bar_height")
        assert setting is not None
        return setting.value

    before = height()
    build.change_sheet(shop, bike, ["bike.cockpit.bar_rise+=20 mm"])
    after = height()
    assert before is not None
    assert after is not None
    assert after > before + 0.01
    build.undo(shop, bike)
    assert height() == before


def test_two_shops_never_share(shop, tmp_path):
    from cyclewright.workshop.shop import Shop

    first = advising.bike_solution(shop, opened(shop))
    with Shop.open(tmp_path / "other") as other:
        assert advising.bike_solution(other, opened(other)) is not first


def test_few_solutions_are_kept(shop):
    bike = opened(shop)
    for value in range(16, 16 + known.MOST_KNOWN + 2):
        readings.read(shop, bike, "fork-pressure", f"{value + 40} psi")
        advising.bike_solution(shop, bike)
    assert len(known._RECENT) <= known.MOST_KNOWN
