"""The fit page: methods, droppers, handles, levers, steerer, carry-over and the fit done again."""

from __future__ import annotations

import re

import pytest

from bench.conftest import EXAMPLES, Client
from bench.test_pages import inline
from cyclewright.bench import fit as pages
from cyclewright.workshop import build, fitting, receive, release, sheets
from cyclewright.workshop.readings import append_settings
from cyclewright.workshop.shop import Shop
from workshop.shops import build_to_gate, opened, record


def words(text: str) -> str:
    """A page's text without its marks."""
    return re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", text))


def answer_of(shop: Shop, bike: int) -> fitting.FitAnswer:
    return fitting.fit_bike(shop, bike, with_handles=False)


@pytest.mark.parametrize("bike", [1, 2, 3])
def test_the_fit_of_every_bike_is_a_page_and_data(client: Client, bike: int) -> None:
    answer = client.get(f"/bikes/{bike}/fit")
    assert answer.status_code == 200
    assert inline(answer.text) == []
    assert "None" not in words(answer.text) and "nan" not in answer.text
    assert f'href="/bikes/{bike}/fit" aria-current="page"' in answer.text
    assert f'href="/bikes/{bike}/photo"' in answer.text
    data = client.data(f"/bikes/{bike}/fit")
    assert len(data["methods"]) == 4 and data["handles"]
    assert data["again"] is data["carried"] is None
    for row in (*data["methods"], *data["angles"], data["wanted"]):
        assert row["label"] in words(answer.text), row["label"]


def test_four_methods_and_the_wish_share_one_scale(client: Client, shop: Shop) -> None:
    answer = answer_of(shop, 1)
    found = pages.heights(answer)
    assert [strip.setting for strip in found.strips] == [*answer.methods, answer.wanted]
    left, right = found.ends
    for strip in found.strips:
        item = strip.setting
        assert 0 <= strip.low <= strip.at <= strip.low + strip.width <= 100
        assert left + (right - left) * strip.at / 100 == pytest.approx(item.value, abs=1e-5)
        assert left + (right - left) * strip.low / 100 == pytest.approx(item.low, abs=1e-5)
    assert found.wanted == found.strips[-1].at
    text = client.get("/bikes/1/fit").text
    assert text.count('class="band"') >= 5 and text.count('class="wish"') == 5


def test_a_post_that_holds_the_saddle_says_by_how_much(client: Client, shop: Shop) -> None:
    answer = answer_of(shop, 1)
    too_high = pages.held(answer)
    assert too_high is not None and too_high > 0.03
    wanted = f"{answer.wanted.value * 1000:.0f}"
    said = words(client.get("/bikes/1/fit").text)
    assert f"This rider wants {wanted} mm" in said
    assert f"holds it {too_high * 1000:.0f} mm too high" in said
    assert pages.held(answer_of(shop, 3)) is None
    assert "This rider wants" not in client.get("/bikes/3/fit").text


def test_droppers_say_which_fits_and_how_far_off_the_next_is(client: Client, shop: Shop) -> None:
    rows = answer_of(shop, 1).droppers
    rooms = pages.rooms(rows)
    assert [room.row.travel for room in rooms if room.longest] == [
        max(row.travel for row in rows if row.fits)
    ]
    for room in rooms:
        assert (room.at >= 50) is (room.row.spare >= 0)
        assert 0 <= room.at <= room.at + room.width <= 100
    text = words(client.get("/bikes/1/fit").text)
    following = next(row for row in rows if not row.fits and row.travel > 0.15)
    assert f"off by {-following.spare * 1000:.0f} mm" in text
    assert "longest that fits" in text and "mounted" in text
    assert "for rough ground" in words(client.get("/bikes/2/fit").text)
    assert "for rough ground" not in text


def test_every_handle_says_what_it_moves_and_is_tried_on_the_setup(client: Client) -> None:
    text, data = client.get("/bikes/1/fit").text, client.data("/bikes/1/fit")
    table = text.partition('class="handles"')[2].partition("</table>")[0]
    assert table.count('role="rowheader"') == len(data["handles"])
    addresses = re.findall(r'role="rowheader"[^>]*><a href="([^"]+)"', table)
    assert len(addresses) == sum(bool(row["changes"]) for row in data["handles"])
    tried = client.get(addresses[0].replace("&amp;", "&"))
    assert tried.status_code == 200 and "If you make this change" in tried.text
    rise = next(row for row in data["handles"] if row["name"] == "bar_rise")
    assert f"+{rise['height'] * 1000:.0f} mm" in table


@pytest.mark.parametrize(
    ("value", "said"), [(0.0094, "+9 mm"), (-0.0046, "−5 mm"), (2e-4, "–"), (None, "")]
)
def test_a_difference_has_its_sign_or_a_dash(value: float | None, said: str) -> None:
    assert pages.difference(value, "mm", 1.0) == said


def test_units_follow_the_device(client: Client) -> None:
    kept = "; ".join(f"{name}={value}" for name, value in client.http.cookies.items())
    cookie = {"cookie": f"{kept}; cyclewright_units=imperial"}
    said = words(client.get("/bikes/1/fit", headers=cookie).text)
    assert re.search(r"Reach.* in ", said)
    assert re.search(r"off by [\d.]+ in", said)


def test_no_steerer_is_cut_before_the_position_is_ridden(client: Client) -> None:
    before = client.get("/bikes/1/fit").text
    assert "Cut nothing yet" in before and "come off" not in before
    assert 'href="/bikes/1/steps/car-park-ride"' in before
    assert client.data("/bikes/1/fit")["steerer"] == []


def test_a_ridden_position_gets_its_cut_with_the_warning(client: Client, shop: Shop) -> None:
    bike = opened(shop)
    build_to_gate(shop, bike)
    release.gate(shop, bike, "ride", by="Ada")
    for step in build.plan_for(shop, bike).steps:
        if step.stage == "Prove" and not fitting.proved(shop, bike):
            record(shop, bike, step)
    assert fitting.proved(shop, bike)
    answer = client.get(f"/bikes/{bike}/fit").text
    assert "caution-stop" in answer and "cannot be undone" in answer
    assert "Cut off the steerer" in answer and "Cut nothing yet" not in answer
    data = client.data(f"/bikes/{bike}/fit")
    assert data["proved"] and [row["name"] for row in data["steerer"]]
    assert client.data(f"/bikes/{bike}/fit?change=rider.inseam%3D75+cm")["steerer"] == []


def test_the_previous_bike_is_chosen_and_what_had_to_give_is_told(
    client: Client, shop: Shop
) -> None:
    page = client.get("/bikes/3/fit").text
    assert re.search(r'<option value="2">[^<]+bike 2', page)
    assert '<option value="3"' not in page
    said = client.get("/bikes/3/fit?from=2").text
    expected = fitting.carry_from(shop, 3, 2)
    assert expected.said in said.replace("&#39;", "'")
    data = client.data("/bikes/3/fit?from=2")["carried"]
    assert data["changes"] == list(expected.changes)
    assert '<option value="2" selected' in said and inline(said) == []
    height = next(item for item in expected.settings if item.name == "saddle_height")
    card = words(said.split('id="fit-saddle"')[1].split("<ol")[0])
    own = answer_of(shop, 3).recommended
    assert f"Saddle height {height.show()} carried over from bike 2" in card
    assert f"own advice is {own.value * 1000:.0f} mm" in card
    (address,) = re.findall(r'href="(/bikes/3\?[^"]+)">Try it', said)
    tried = client.get(address.replace("&amp;", "&"))
    assert tried.status_code == 200 and "If you make this change" in tried.text
    drawing = client.get(address.replace("&amp;", "&").replace("/3?", "/3/drawing?"))
    assert drawing.text.startswith("<svg")


def test_a_saddle_height_on_record_is_the_place_carried_over(shop: Shop) -> None:
    read = sheets.read_sheets(
        EXAMPLES / "bikes/hardtail.toml",
        EXAMPLES / "riders/heavy.toml",
        EXAMPLES / "places/right.toml",
    )
    previous = receive.open_bike(shop, read, by="Mara Quill")
    usual = fitting.carry_from(shop, 3, previous).settings[0]
    row = {"name": "saddle_height", "value": 0.735, "unit": "m", "shown": "735 mm"}
    append_settings(shop, previous, [row], by="Mara Quill")
    now = fitting.carry_from(shop, 3, previous).settings[0]
    assert now.name == usual.name == "saddle_height"
    assert now.value < usual.value - 0.01


@pytest.mark.parametrize(
    ("query", "told"),
    [
        ("from=1", "choose another bike"),
        ("from=x", "choose a bike from the list"),
        ("from=999", "no such bike"),
        ("change=rider.inseam%3D9+parsecs", "parsecs"),
    ],
)
def test_what_is_wrong_is_told_and_the_fit_still_stands(
    client: Client, query: str, told: str
) -> None:
    answer = client.get(f"/bikes/1/fit?{query}")
    assert answer.status_code == 200
    assert told in words(answer.text) and "Saddle height" in answer.text
    refused = client.get(f"/bikes/1/fit?{query}", headers={"accept": "application/json"})
    assert refused.status_code == 422 and refused.json()["errors"]


def test_a_change_of_the_rider_says_what_to_set_again(client: Client, shop: Shop) -> None:
    answer = client.get("/bikes/3/fit?change=rider.inseam%3D83+cm")
    assert "Set these again" in answer.text and "Saddle height: " in answer.text
    assert 'value="rider.inseam=83 cm"' in answer.text
    data = client.data("/bikes/3/fit?change=rider.inseam%3D83+cm")
    named = client.data("/bikes/3/fit?set:rider.inseam=830&set:rider.height=1.9&set:rider.mass=")
    assert named["again"]["redo"] == data["again"]["redo"] != []
    assert 'placeholder="890 mm ± 6"' in answer.text
    assert data["wanted"]["value"] < answer_of(shop, 3).wanted.value
    number = shop.state(3).number
    client.get("/bikes/3/fit?change=rider.inseam%3D83+cm")
    assert shop.state(3).number == number
    same = client.get("/bikes/3/fit?change=bike.brake.front.rotor_min%3D1.6+mm")
    assert "Nothing has to be set again" in same.text


def test_the_fit_follows_the_sheets(client: Client, shop: Shop) -> None:
    before = client.data("/bikes/2/fit")["wanted"]["value"]
    build.change_sheet(shop, 2, ["rider.inseam=86 cm"], by="Mara Quill")
    assert client.data("/bikes/2/fit")["wanted"]["value"] < before


def test_a_bike_set_for_a_mass_alone_has_a_fit_of_a_usual_rider(client: Client, shop: Shop) -> None:
    read = sheets.read_sheets(
        EXAMPLES / "bikes/trail.toml", None, EXAMPLES / "places/left.toml", "80 kg"
    )
    bike = receive.open_bike(shop, read, by="Mara Quill")
    answer = client.get(f"/bikes/{bike}/fit")
    assert answer.status_code == 200 and "None" not in words(answer.text)
