"""Pages say what a change does before its button, and refuse what the command line refuses."""

from __future__ import annotations

import re
from collections.abc import Iterator
from datetime import date
from html import unescape
from pathlib import Path

import pytest

from bench.conftest import EXAMPLES, Client, let_in
from cyclewright.errors import InputError
from cyclewright.workshop import build, care, release, tools
from cyclewright.workshop.changing import look
from cyclewright.workshop.shop import Shop
from cyclewright.workshop.wanted import Wanted
from workshop.shops import build_to_gate, opened

STACK = "bike.cockpit.spacers_under=45 mm"
UP = "bike.cockpit.spacers_under+=5 mm"
HEAVY = EXAMPLES / "riders/heavy.toml"


@pytest.fixture
def ready(tmp_path: Path) -> Iterator[Shop]:
    """A shop whose bike 1 passed its ride gate."""
    with Shop.open(tmp_path / "data") as shop:
        build_to_gate(shop, opened(shop))
        assert release.gate(shop, 1, "ride", by="Ada").passed
        yield shop


@pytest.fixture
def bench(ready: Shop) -> Client:
    """Ada's browser on that shop."""
    return let_in(ready, "Ada")


def words(text: str) -> str:
    """A page's text without its tags."""
    return re.sub(r"\s+", " ", unescape(re.sub(r"<[^>]+>", " ", text)))


def test_the_button_says_what_it_opens_before_it_is_pressed(ready: Shop, bench: Client) -> None:
    text = bench.get("/bikes/1", params={"change": UP}).text
    found = look(ready, 1, Wanted(changes=(UP,)))
    assert len(found.reopened) > 5
    button = f"Change it: opens {len(found.reopened)} steps again (about "
    assert button in words(text)
    assert text.index("steps to do again") < text.index("Change it:")
    assert ready.state(1).gates and not ready.state(1).changes
    bench.post("/bikes/1/change", data={"change": UP, "seen": found.number})
    assert set(ready.state(1).steps) and not ready.state(1).gates


def test_a_change_that_opens_nothing_has_a_plain_button(bench: Client) -> None:
    text = words(bench.get("/bikes/1", params={"change": "bike.year=2024"}).text)
    assert "Make the change" in text and "Nothing that was proved is opened again." in text


def test_a_stack_over_the_steerers_limit_is_refused_in_the_same_words(
    ready: Shop, bench: Client
) -> None:
    with pytest.raises(InputError) as refused:
        build.change_sheet(ready, 1, [STACK], by="Ada")
    sentence = refused.value.problems[0].do
    shown = bench.get("/bikes/1", params={"change": STACK}).text
    assert "most allowed by the frame's maker: 40 mm" in words(shown)
    assert "Make the change" not in shown and "It is on the bike like that: record it" in shown
    number = ready.state(1).number
    answer = bench.post("/bikes/1/change", data={"change": STACK})
    assert answer.status_code == 422
    assert sentence.split(". ")[0] in words(answer.text)
    told = bench.post("/api/bikes/1/changes", json={"changes": [STACK]})
    assert told.status_code == 422
    assert told.json()["errors"][0]["do"] == sentence
    assert ready.state(1).number == number
    answer = bench.post("/bikes/1/change", data={"change": STACK, "as_found": "yes"})
    assert answer.status_code == 303
    assert "bar-and-stem" in {row.item for row in release.missing(ready, ready.state(1), "ride")}


def test_answers_that_would_open_something_are_looked_at_first(ready: Shop, bench: Client) -> None:
    number = ready.state(1).number
    answer = bench.post("/bikes/1/answers", data={"q:bike.frame.rotor_max": "180 mm"})
    assert answer.headers["location"].startswith("/bikes/1?change=bike.frame.rotor_max")
    assert ready.state(1).number == number
    kept = bench.post("/bikes/1/answers", data={"q:bike.year": "2024"})
    assert kept.headers["location"] == "/bikes/1" and ready.state(1).number == number + 2


def test_a_browser_goes_on_to_what_is_looked_at(ready: Shop, bench: Client) -> None:
    """Loading the page that is open anew would call off the way to the next one."""
    sent = {"HX-Request": "true", "HX-Current-URL": "http://bench/bikes/1?open=lookups"}
    answer = bench.post("/bikes/1/answers", data={"q:bike.frame.rotor_max": "180 mm"}, headers=sent)
    assert answer.headers["HX-Redirect"].endswith("#moved")
    assert "HX-Refresh" not in answer.headers


def test_more_answers_than_a_dozen_are_all_kept(ready: Shop, bench: Client) -> None:
    many = {f"q:bike.fastener.extra{n}.part": f"part {n}" for n in range(20)}
    bench.post("/bikes/1/answers", data=many)
    if not ready.state(1).changes:
        texts = [f"{key[2:]}={value}" for key, value in many.items()]
        bench.post("/bikes/1/change", data={"change": texts})
    listed = ready.sheets(ready.state(1)).bike.fastener
    assert sum(name.startswith("extra") for name in listed) == 20


def test_a_rider_is_fitted_from_the_page_and_the_one_before_comes_back(
    ready: Shop, bench: Client
) -> None:
    page = bench.get("/bikes/1/changes").text
    assert 'id="rider"' in page and 'id="swap"' in page and 'id="sheet"' in page
    typed = {"name": "Osk", "mass": "95", "height": "1.88 m", "inseam": "86", "ride": "trail"}
    number = ready.state(1).number
    seen = bench.post("/bikes/1/changes/rider", data=typed)
    assert seen.status_code == 200 and ready.state(1).number == number
    text = words(seen.text)
    assert "Fit this rider: opens" in text and "the ride gate falls" in text
    assert 'value="95"' in seen.text
    done = bench.post("/bikes/1/changes/rider", data={**typed, "sure": "yes"})
    assert done.status_code == 303 and done.headers["location"] == "/bikes/1/build"
    assert care.show(ready, 1).rider == "Osk"
    assert "95 kg" not in str(ready.events(1)[-2].data) + str(ready.events(1)[-1].data)

    page = words(bench.get("/bikes/1/changes").text)
    assert "Back to Wren Tolliquay, until" in page
    assert "Go back to it" in words(
        bench.post("/bikes/1/changes/earlier", data={"earlier": "1"}).text
    )
    bench.post("/bikes/1/changes/earlier", data={"earlier": "1", "sure": "yes"})
    assert care.show(ready, 1).rider == "Wren Tolliquay"
    setup = words(bench.get("/bikes/1").text)
    assert "As it was set then" in setup and "none of them counts as set" in setup


def test_a_rider_whose_figures_cannot_be_keeps_what_was_typed(ready: Shop, bench: Client) -> None:
    number = ready.state(1).number
    answer = bench.post(
        "/bikes/1/changes/rider", data={"name": "Osk", "mass": "950", "height": "9 m"}
    )
    assert answer.status_code == 422
    assert 'value="950"' in answer.text and 'value="Osk"' in answer.text
    assert "Nothing was lost" in answer.text
    assert ready.state(1).number == number


def test_nobody_is_fitted_for_a_stated_mass(ready: Shop, bench: Client) -> None:
    bench.post("/bikes/1/changes/nobody", data={"mass": "80", "sure": "yes"})
    assert care.show(ready, 1).rider == "rider not fitted"
    assert ready.sheets(ready.state(1)).mass is not None


def test_a_swap_from_the_page_is_looked_at_then_made_whole(ready: Shop, bench: Client) -> None:
    for path in ("/bikes/1/build", "/bikes/1/carton"):
        assert "/bikes/1/changes#swap" in bench.get(path).text
    typed = {
        "part": "front rotor",
        "field:bike.brake.front.rotor_diameter": "180",
        "maker": "Quill",
        "serial": "R-9",
    }
    asked = bench.get("/bikes/1/changes", params={"part": "front rotor"}).text
    assert 'name="field:bike.brake.front.rotor_diameter"' in asked and "now 203 mm" in asked
    seen = bench.post("/bikes/1/changes/swap", data=typed)
    assert "It is swapped: opens" in words(seen.text) and not ready.state(1).parts
    bench.post("/bikes/1/changes/swap", data={**typed, "sure": "yes"})
    state = ready.state(1)
    assert state.parts["front rotor"].serial == "R-9"
    assert state.step("front-rotor").status == "reopened"


def test_a_swap_that_breaks_a_limit_has_its_own_button(ready: Shop, bench: Client) -> None:
    typed = {"part": "front rotor", "field:bike.brake.front.rotor_diameter": "223 mm"}
    seen = bench.post("/bikes/1/changes/swap", data=typed)
    assert "It is on the bike like that" in seen.text and "It is swapped" not in seen.text
    assert bench.post("/bikes/1/changes/swap", data={**typed, "sure": "y"}).status_code == 422
    bench.post("/bikes/1/changes/swap", data={**typed, "sure": "y", "as_found": "yes"})
    assert ready.state(1).changes[-1]["as_found"] is True


def test_a_corrected_sheet_is_sent_as_a_file(ready: Shop, bench: Client) -> None:
    text = ready.state(1).sheets["bike"].replace("= 2025", "= 2024")
    seen = bench.post("/bikes/1/changes/sheet", files={"sheet": ("bike.toml", text.encode())})
    assert seen.status_code == 200 and "2024" in seen.text
    bench.post("/bikes/1/changes/sheet", data={"sheet": text, "sure": "yes"})
    assert ready.sheets(ready.state(1)).bike.year == 2024
    for bad, match in ((b"\xff\xfe", "UTF-8"), (b"kind =", "TOML")):
        answer = bench.post("/bikes/1/changes/sheet", files={"sheet": ("bike.toml", bad)})
        assert answer.status_code == 422 and match in answer.text
    assert bench.post("/bikes/1/changes/sheet", data={}).status_code == 422


def test_a_whole_rider_sheet_is_sent_as_a_file(ready: Shop, bench: Client) -> None:
    files = {"sheet": ("rider.toml", HEAVY.read_bytes())}
    seen = bench.post("/bikes/1/changes/rider", files=files)
    assert seen.status_code == 200 and "Fit this rider" in seen.text


def test_the_same_as_data(ready: Shop, bench: Client) -> None:
    told = bench.post("/api/bikes/1/look", json={"changes": [UP]}).json()
    assert told["falls"] == ["ride"] and "stem-pinch" in told["reopened"]
    assert told["said"].endswith("the ride gate falls")
    body = {"rider": HEAVY.read_text(encoding="utf-8")}
    done = bench.post("/api/bikes/1/changes", json=body).json()
    assert "fork-pressure" in done["reopened"]
    assert bench.data("/bikes/1/changes")["setups"][0]["rider"] == "Wren Tolliquay"
    assert bench.post("/api/bikes/1/changes", json={"earlier": 1}).status_code == 200
    assert bench.data("/bikes/1")["then"]["id"] == 1
    assert bench.post("/api/bikes/1/changes", json={}).status_code == 422


def test_what_is_no_such_change_is_not_found(bench: Client) -> None:
    assert bench.post("/bikes/1/changes/nose", data={}).status_code == 404
    for what in ("rider", "nobody", "earlier", "swap", "sheet"):
        assert bench.post(f"/bikes/1/changes/{what}", data={}).status_code == 422, what


def test_a_done_step_says_what_opening_it_takes_before_it_is_opened(
    ready: Shop, bench: Client
) -> None:
    text = words(bench.get("/bikes/1/steps/stem-pinch").text)
    opens, falls = build.look_at_touch(ready, 1, ["stem-pinch"])
    assert falls and "stem-pinch" in opens
    assert f"Open it again: opens {len(opens)} steps again, the ride gate falls" in text
    answer = build.touch(ready, 1, ["stem-pinch"], "looked under it", by="Ada")
    assert answer.reopened == opens


def test_a_plan_is_made_again_only_once_what_falls_was_said(ready: Shop, bench: Client) -> None:
    assert bench.post("/bikes/1/plan", data={}).headers["location"] == "/bikes/1/build"
    tools.keep_tool(ready, "big click", "10 N.m", "60 N.m", calibrated=date.today())
    before = ready.state(1).number
    asked = bench.post("/bikes/1/plan", data={}).headers["location"]
    assert (asked, ready.state(1).number) == ("/bikes/1/build?again=1#again", before)
    text = words(bench.get(asked).text)
    assert "The ride gate falls." in text and "Make it again all the same" in text
    assert bench.post("/bikes/1/plan", data={"sure": "yes"}).status_code == 303
    assert ready.state(1).number > before
    assert "the ride gate falls." in words(bench.get("/bikes/1/build").text)
