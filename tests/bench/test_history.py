"""The record's page, and erasing: an owner's, with a PIN, never from a phone."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from bench.conftest import EXAMPLES, PORT, TOKEN, Client, let_in
from bench.phones import MACHINE, Bench
from cyclewright.bench.app import create_app
from cyclewright.workshop import build, carton, erase, people, receive, sheets
from cyclewright.workshop.shop import Shop
from workshop.remains import remains
from workshop.shops import photo

pytestmark = pytest.mark.usefixtures("quick_hashes")

ADA, BO = "4821", "7351"
RIDER = sheets.read_sheets(
    EXAMPLES / "bikes/trail.toml", EXAMPLES / "riders/light.toml", EXAMPLES / "places/left.toml"
)
NAME = str(RIDER.rider.name).encode() if RIDER.rider else b""


@pytest.fixture
def owned(tmp_path: Path) -> Iterator[Shop]:
    """An owner, a mechanic, and a bike with a rider and a photo."""
    with Shop.open(tmp_path / "data") as made:
        people.add_person(made, "Ada")
        people.add_person(made, "Bo Invented", by="Ada")
        receive.open_bike(made, RIDER, by="Ada")
        carton.damage(made, 1, "corner crushed", [photo()], where="outside", by="Bo Invented")
        yield made


@pytest.fixture
def browser(owned: Shop) -> Client:
    return let_in(owned, "Ada")


def _post(client: Client, path: str, **fields: str | list[str]) -> tuple[int, str]:
    given = {"reason": "asked for it", "sure": "1", **fields}
    answer = client.post(path, data=given, headers=MACHINE)
    told = answer.json()
    return answer.status_code, told["errors"][0]["do"] if "errors" in told else ""


def test_the_record_tells_every_entry_and_whether_it_holds(browser: Client, owned: Shop) -> None:
    build.record_step(owned, 1, "frame-looked-over", by="Bo Invented")
    build.undo(owned, 1, anyone=True, by="Ada")
    page = browser.get("/bikes/1/record").text
    assert "Taken back." in page
    assert "Bo Invented" in page
    assert "Check it now" in page
    told = browser.data("/bikes/1/record")
    assert [row["number"] for row in told["events"]] == list(range(len(told["events"]), 0, -1))


def test_a_changed_sheet_is_named_on_the_page(browser: Client, owned: Shop) -> None:
    assert "Bike 1: as it was written" in browser.get("/bikes/1/verify").text
    assert "The whole shop: as it was written" in browser.get("/verify").text
    address = owned.state(1).rider
    assert address is not None
    owned.store.erase([address])
    for path, whose in (("/bikes/1/verify", ""), ("/verify", "Bike 1, ")):
        told = browser.data(path)
        assert not told["ok"]
        page = browser.get(path).text
        assert "not as it was written" in page
        assert f"{whose}{'e' if whose else 'E'}ntry {told['faults'][0]['event']}: " in page


def test_older_entries_are_a_page_further(browser: Client, owned: Shop) -> None:
    for number in range(70):
        build.change_sheet(owned, 1, [f"rider.kit_mass={5 + number % 2} kg"], by="Ada")
    first = browser.data("/bikes/1/record")
    older = browser.data(f"/bikes/1/record?before={first['older']}")
    numbers = [row["number"] for page in (first, older) for row in page["events"]]
    assert numbers == list(range(owned.state(1).number, 24, -1))
    last = browser.data(f"/bikes/1/record?before={older['older']}")
    assert [row["number"] for row in last["events"]] == list(range(24, 0, -1))
    assert last["older"] is None
    assert "Older entries" in browser.get("/bikes/1/record").text


def test_an_owner_erases_a_rider_and_the_tombstone_stands(browser: Client, owned: Shop) -> None:
    page = browser.get("/erase/bikes/1").text
    assert "1 sheet of the rider" in page.lower()
    assert "What stays" in page
    assert NAME in remains(owned)
    assert _post(browser, "/erase/bikes/1", what=["rider"]) == (200, "")
    assert NAME not in remains(owned)
    page = browser.get("/erase/bikes/1").text
    assert "1 attachment erased for good" in page
    assert "Asked for it." in page
    assert NAME.decode() not in page
    assert "1 photo" in page.lower()
    assert browser.data("/bikes/1/verify")["erased"] == 1
    (stone,) = browser.data("/bikes/1/record")["personal"]["erased"]
    assert (stone["by"], stone["what"]) == ("Ada", {"rider": 1})


def test_an_erased_photo_is_told_where_it_was(browser: Client, owned: Shop) -> None:
    assert browser.get("/bikes/1/carton").text.count("<img") == 1
    assert _post(browser, "/erase/bikes/1", what=["photos"])[0] == 200
    page = browser.get("/bikes/1/carton").text
    assert "Photo erased" in page
    assert "<img" not in page


def test_nothing_goes_without_a_reason_a_tick_and_something_to_erase(
    browser: Client, owned: Shop
) -> None:
    before = remains(owned)
    assert _post(browser, "/erase/bikes/1", what=["rider"], sure="")[0] == 422
    assert _post(browser, "/erase/bikes/1", what=["rider"], reason=" ")[0] == 422
    assert _post(browser, "/erase/bikes/1", what=[]) == (
        422,
        "say what is to be erased",
    )
    assert _post(browser, "/erase/bikes/1", what=["signatures"])[0] == 409
    assert remains(owned) == before


def test_a_mechanic_is_refused_and_told_who_may(browser: Client, owned: Shop) -> None:
    browser.post("/who", data={"name": "Bo Invented"})
    for path in ("/erase/bikes/1", "/erase/people/1"):
        page = browser.get(path).text
        assert "Only an owner erases: Ada" in page
        assert 'name="reason"' not in page
        assert _post(browser, path, what=["rider"]) == (409, "only an owner may do this")
    assert NAME in remains(owned)


def test_with_pins_the_owner_gives_hers_again(browser: Client, owned: Shop) -> None:
    people.set_pin(owned, "Ada", ADA)
    people.set_pin(owned, "Bo Invented", BO, by="Ada", pin=ADA)
    browser.post("/who", data={"name": "Ada", "pin": ADA})
    assert 'name="pin"' in browser.get("/erase/bikes/1").text
    assert _post(browser, "/erase/bikes/1", what=["rider"])[0] == 409
    assert _post(browser, "/erase/bikes/1", what=["rider"], pin=BO)[0] == 409
    assert NAME in remains(owned)
    assert _post(browser, "/erase/bikes/1", what=["rider"], pin=ADA)[0] == 200
    assert NAME not in remains(owned)


def test_a_person_becomes_a_number_on_every_page(browser: Client, owned: Shop) -> None:
    assert "Erase this name" in browser.get("/people").text
    assert "name of Bo Invented" in " ".join(browser.get("/erase/people/2").text.split())
    assert _post(browser, "/erase/people/2")[0] == 200
    assert b"Bo Invented" not in remains(owned)
    page = browser.get("/erase/people/2").text
    assert "Erased person 2" in page
    assert "Asked for it." in page
    listed = browser.get("/people").text
    assert "1 name was erased" in listed
    assert "Bo Invented" not in listed + browser.get("/bikes/1/record").text
    assert _post(browser, "/erase/people/1")[1] == "make somebody else an owner first"
    assert browser.get("/erase/people/9").status_code == 404


def test_whoever_was_erased_works_here_no_more(owned: Shop) -> None:
    app = create_app(owned, TOKEN, PORT)
    first, second = Client(app), Client(app)
    for one, name in ((first, "Ada"), (second, "Bo Invented")):
        one.post("/launch", data={"token": TOKEN})
        one.post("/who", data={"name": name})
    assert "Bo Invented" in second.get("/").text
    _post(first, "/erase/people/2")
    assert "Bo Invented" not in second.get("/").text
    assert second.post("/bikes/1/steps/frame-looked-over", data={"act": "done"}).status_code == 303
    assert [person.name for person in people.working(owned)] == ["Ada"]


def test_whoever_another_program_erased_works_here_no_more(owned: Shop) -> None:
    """Else the next entry would bring the name back."""
    bench = Bench(owned)
    phone = bench.let_in()
    for one in (bench.desk, phone):
        one.post("/who", data={"name": "bo invented"})
    with Shop.open(owned.data) as other:
        erase.erase_person(other, "Bo Invented", reason="asked", by="Ada")
    for one in (bench.desk, phone):
        done = {"act": "wrong", "reason": "dented"}
        assert one.post("/bikes/1/steps/frame-looked-over", data=done).status_code == 303
    assert [person.name for person in people.working(owned)] == ["Ada"]


def test_nobody_erases_from_a_phone(owned: Shop) -> None:
    phone = Bench(owned).let_in()
    assert phone.get("/bikes/1/record").status_code == 200
    assert "/erase/" not in phone.get("/bikes/1/record").text
    for path in ("/erase/bikes/1", "/erase/people/1"):
        assert phone.get(path).status_code == 403
        assert phone.post(path, data={"reason": "x", "sure": "1"}).status_code == 403
