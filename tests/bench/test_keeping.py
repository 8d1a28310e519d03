"""Carton, care, recalls, journeys, inspections, tools and overrides as pages."""

from __future__ import annotations

import io
import re
import uuid
from collections.abc import Iterator
from datetime import date, timedelta
from pathlib import Path
from typing import Any

import pytest
from PIL import Image

from bench.conftest import EXAMPLES, Client, let_in
from bench.phones import MACHINE
from cyclewright.bench.care import HIGH, WIDE, trend
from cyclewright.workshop import build, due, people, receive, release, sheets
from cyclewright.workshop.due import WearRow
from cyclewright.workshop.shop import Shop
from workshop.shops import build_to_gate, build_until, opened, record


@pytest.fixture
def own(tmp_path: Path) -> Iterator[Shop]:
    """A shop of two with the trail bike, nothing recorded."""
    with Shop.open(tmp_path / "data") as made:
        people.add_person(made, "Ada")
        people.add_person(made, "Bea", "checker", by="Ada")
        opened(made)
        yield made


@pytest.fixture
def bench(own: Shop) -> Client:
    return let_in(own, "Ada")


@pytest.fixture
def picture() -> bytes:
    written = io.BytesIO()
    Image.new("RGB", (60, 40), (90, 70, 50)).save(written, "JPEG")
    return written.getvalue()


def done(client: Client, path: str, **fields: Any) -> dict[str, Any]:
    """A form sent by a program; it must be taken."""
    files = fields.pop("files", None)
    answer = client.post(path, data=fields, files=files, headers=MACHINE)
    assert answer.status_code == 200, answer.text
    told: dict[str, Any] = answer.json()
    return told


def refused(client: Client, path: str, **fields: Any) -> tuple[int, list[str]]:
    answer = client.post(path, data=fields, headers=MACHINE)
    return answer.status_code, [error["code"] for error in answer.json()["errors"]]


PAGES = ("/carton", "/care", "/journey", "/inspection")


@pytest.mark.parametrize("path", PAGES)
def test_pages_hold_to_the_content_policy(bench: Client, path: str) -> None:
    said = bench.get(f"/bikes/1{path}")
    assert said.status_code == 200
    assert "style=" not in said.text and "<script>" not in said.text and "onclick" not in said.text
    assert bench.data(f"/bikes/1{path}")["bike"] == 1
    assert bench.get(f"/bikes/99{path}").status_code == 422


@pytest.mark.parametrize("path", ["/tools", "/settle", "/recalls", "/care"])
def test_pages_of_the_shop(bench: Client, path: str) -> None:
    said = bench.get(path)
    assert said.status_code == 200 and "style=" not in said.text
    assert bench.data(path)


def test_a_carton_by_its_forms(bench: Client, picture: bytes) -> None:
    files = [("photo", (f"{n}.jpg", picture, "image/jpeg")) for n in (1, 2)]
    done(bench, "/bikes/1/carton/arrive", carrier="Hill Parcels", unchecked="1",
         damage="corner crushed", carriage="parcel", files=files)  # fmt: skip
    page = bench.get("/bikes/1/carton").text
    assert "Received unchecked" in page and "3 days left" in page
    done(bench, "/bikes/1/carton/parts", **{"part:frame": "here", "part:left pedal": "missing",
         "other": "spare tube", "other-state": "damaged"})  # fmt: skip
    done(bench, "/bikes/1/carton/wrong", part="spare tube", state="damaged", note="holed",
         files=files[:1])  # fmt: skip
    yesterday = (date.today() - timedelta(days=1)).isoformat()
    done(bench, "/bikes/1/carton/expect", part="left pedal", day=yesterday, whose="the seller")
    box = bench.data("/bikes/1/carton")
    rows = {row["part"]: row for row in box["parts"]}
    assert rows["left pedal"]["overdue"] and rows["spare tube"]["note"] == "holed"
    assert "overdue" in bench.get("/bikes/1/carton").text
    done(bench, "/bikes/1/carton/parts", **{"part:spare tube": "damaged", "part:fork": "here"})
    kept = {row["part"]: row for row in bench.data("/bikes/1/carton")["parts"]}
    assert kept["spare tube"] == rows["spare tube"], "what stands as it was keeps its note"
    done(bench, "/bikes/1/carton/came", part="left pedal")
    done(bench, "/bikes/1/carton/packing", item=["carton", "straps"])
    done(bench, "/bikes/1/carton/serial", serial="ZZ-9", files={"photo": ("s.jpg", picture)})
    done(bench, "/bikes/1/carton/claim", to="Hill Parcels", reference="H-4")
    box = bench.data("/bikes/1/carton")
    assert box["packing"] == ["carton", "straps"] and box["serial"] == "ZZ-9"
    assert box["claims"][0]["reference"] == "H-4"
    assert "claim.pdf" in bench.get("/bikes/1/papers").text
    assert bench.get("/bikes/1/papers/claim.pdf").content.startswith(b"%PDF-")


def test_a_carton_form_sent_twice_is_one_entry(bench: Client, own: Shop) -> None:
    uuid = "6b8d3c34-6a8e-4df2-9d6e-2f5f6f1f0a01"
    for _ in range(2):
        done(bench, "/bikes/1/carton/damage", text="bent rotor", where="inside", uuid=uuid)
    assert len(bench.data("/bikes/1/carton")["damages"]) == 1


def test_wrong_carton_forms_are_told(bench: Client) -> None:
    assert refused(bench, "/bikes/1/carton/arrive", days="soon") == (422, ["days"])
    assert refused(bench, "/bikes/1/carton/arrive", arrived="soon") == (422, ["not-a-date"])
    assert refused(bench, "/bikes/1/carton/parts") == (422, ["empty"])
    assert refused(bench, "/bikes/1/carton/damage", text=" ") == (422, ["empty"])
    assert bench.post("/bikes/1/carton/burn", data={}).status_code == 404


def test_only_photos_of_this_bike_s_pages_are_shown(
    bench: Client, own: Shop, picture: bytes
) -> None:
    done(bench, "/bikes/1/carton/damage", text="dent", files={"photo": ("d.jpg", picture)})
    (address,) = bench.data("/bikes/1/carton")["damages"][0]["photos"]
    shown = bench.get(f"/bikes/1/pictures/{address}")
    assert shown.status_code == 200 and shown.headers["content-type"] == "image/jpeg"
    rider = own.state(1).rider
    assert rider is not None
    assert bench.get(f"/bikes/1/pictures/{rider}").status_code == 404
    other = opened(own)
    assert bench.get(f"/bikes/{other}/pictures/{address}").status_code == 404


def test_care_wear_and_the_diary(bench: Client) -> None:
    done(bench, "/bikes/1/care/use", rides="3", hours="6.5")
    done(bench, "/bikes/1/care/wear", kind="chain-wear", value="0.1")
    done(bench, "/bikes/1/care/use", rides="2", hours="4")
    done(bench, "/bikes/1/care/wear", kind="chain-wear", value="0.2 %")
    page = bench.get("/bikes/1/care").text
    assert 'class="trend"' in page and 'class="ahead"' in page
    assert refused(bench, "/bikes/1/care/use", rides="many") == (422, ["rides"])
    assert refused(bench, "/bikes/1/care/use", hours="long") == (422, ["hours"])
    assert refused(bench, "/bikes/1/care/done", item="paint") == (422, ["no-such-item"])
    diary = bench.get("/bikes/1/care.ics")
    assert diary.headers["content-type"].startswith("text/calendar")
    assert diary.text.startswith("BEGIN:VCALENDAR")
    assert bench.get("/care.ics").text.startswith("BEGIN:VCALENDAR")


def test_a_re_check_booked_at_hand_over_stands_in_care(bench: Client, own: Shop) -> None:
    build_to_gate(own, 1)
    release.gate(own, 1, "ride", by="Ada")
    build_until(own, 1, "Prove")
    step = "explained-first-recheck"
    for item in build.plan_for(own, 1).steps:
        if item.stage == "Release" and item.id != step:
            record(own, 1, item)
    assert 'id="day" name="day" type="date"' in bench.get(f"/bikes/1/steps/{step}").text
    sent = {"act": "done", "value": "manuals and keys"}
    assert refused(bench, f"/bikes/1/steps/{step}", **sent) == (422, ["day-missing"])
    day, later = (str(date.today() + timedelta(days=days)) for days in (14, 21))
    done(bench, f"/bikes/1/steps/{step}", day=day, **sent)
    assert own.state(1).step(step).evidence["text"]["text"] == f"{day}, manuals and keys"
    release.release(own, 1, by="Ada")
    row = bench.data("/bikes/1/care")["rows"][0]
    assert (row["item"], row["by"]) == ("booked", day)
    assert "Re-check, as booked" in bench.get("/bikes/1/care").text
    assert "SUMMARY:Re-check" in bench.get("/bikes/1/care.ics").text
    done(bench, "/bikes/1/care/book", day=later, note="rings first")
    assert bench.data("/bikes/1/care")["rows"][0]["by"] == later
    done(bench, "/bikes/1/care/done", item="booked")
    assert "booked" not in {row["item"] for row in bench.data("/bikes/1/care")["rows"]}


def test_sprockets_and_tread_are_read_on_the_page(bench: Client) -> None:
    page = bench.get("/bikes/1/care").text
    for kind in ("sprocket-lift", "chainring-lift", "front-tread", "rear-tread"):
        assert f'value="{kind}"' in page
    for value in ("4", "3.5 mm"):
        done(bench, "/bikes/1/care/use", rides="2", hours="9")
        said = done(bench, "/bikes/1/care/wear", kind="rear-tread", value=value)["said"]
    assert said.startswith("Rear tyre tread: 3.5 mm, limit 2.0 mm, at the pace so far about")


def _row(values: list[float], limit: float | None, by: str = "", rate: float = 0.0) -> WearRow:
    readings = tuple(
        {"day": "2031-05-01", "use": 5.0 * n, "value": value, "shown": f"{value}"}
        for n, value in enumerate(values)
    )
    return WearRow(
        "front-pad", "Pads", readings, "hours", rate, limit, "", "", False, by, "", "", ""
    )


def test_the_trend_stays_in_its_picture_and_meets_the_limit() -> None:
    assert trend(_row([3.0], 1.0)) is None
    drawn = trend(_row([4.0, 3.5, 3.0], 2.0, "2031-06-01", -0.1))
    assert drawn is not None and drawn.limit is not None
    assert all(0 < x < WIDE and 0 < y < HIGH for x, y in drawn.points)
    # Worn 0.1 an hour, 1.0 above the limit: the way ahead ends on it.
    x, y = (float(part) for part in drawn.ahead.rpartition("L")[2].split())
    assert y == pytest.approx(drawn.limit) and x == pytest.approx(WIDE - 8, abs=0.2)
    far = trend(_row([4.0, 3.99], 2.0, "2039-06-01", -0.002))
    assert far is not None and far.limit is not None
    assert float(far.ahead.split()[-1]) < far.limit
    assert trend(_row([3.0, 3.0], None)) is not None


def test_a_recall_stands_on_every_page_of_its_bike(bench: Client) -> None:
    done(bench, "/bikes/1/care/part", part="front rotor", maker="Fellmark", batch="B7")
    done(bench, "/recalls", part="front rotor", maker="Fellmark", batches="B7, B8", why="cracks",
         do="replace it", source="its maker")  # fmt: skip
    for path in ("", "/build", "/gates", *PAGES):
        assert "nobody rides this bike" in bench.get(f"/bikes/1{path}").text, path
    assert "held up" in bench.get("/").text
    assert "replace it" in bench.get("/scan?code=1").text
    assert "Carries it" in bench.get("/recalls").text
    done(bench, "/bikes/1/care/settle", recall="1", reason="new rotor")
    assert "nobody rides this bike" not in bench.get("/bikes/1").text
    assert refused(bench, "/bikes/1/care/settle", recall="1", reason="again")[0] == 409
    done(bench, "/recalls/1/lift", reason="withdrawn")
    assert "No recall stands" in bench.get("/recalls").text
    done(bench, "/bikes/1/care/off", part="front rotor")


def test_a_journey_by_its_list(bench: Client, own: Shop) -> None:
    assert "Nothing to undo yet" in bench.get("/bikes/1/journey").text
    assert refused(bench, "/bikes/1/journey/begin")[0] == 409
    build_to_gate(own, 1)
    done(bench, "/bikes/1/journey/begin")
    lines = bench.data("/bikes/1/journey")["lines"]
    assert len(lines) > 5
    alike = [line["step"] for line in lines if line["do"].startswith("Let tyres down")]
    page = bench.get("/bikes/1/journey").text
    assert f'value="{" ".join(alike)}"' in page and page.count("Let tyres down") == 2
    assert len(alike) == 2  # ticked once: done alike at both wheels
    first = lines[0]["step"]
    done(bench, "/bikes/1/journey/ticks", step=[line["step"] for line in lines[:4]])
    page = bench.get("/bikes/1/journey").text
    assert f"{len(lines) - 4} of {len(lines)} left" in page
    assert refused(bench, "/bikes/1/journey/ticks", step=first) == (422, ["no-such-line"])
    assert refused(bench, "/bikes/1/journey/ticks") == (422, ["empty"])
    told = done(bench, "/bikes/1/journey/arrive")
    page = bench.get("/bikes/1/journey").text
    assert "Do these again" in page
    assert all(f"/steps/{step}" in page for step in told["reopened"])


def test_an_inspection_with_declined_work(bench: Client, picture: bytes) -> None:
    assert "Why is it here?" in bench.get("/bikes/1/inspection").text
    done(bench, "/bikes/1/inspection", cause="crashed")
    assert "places still to look at" in bench.get("/bikes/1/inspection").text
    done(bench, "/bikes/1/findings", text="bar scored", severity="stop", work="new bar", price="90",
         point="look-bar-and-stem", files={"photo": ("b.jpg", picture)})  # fmt: skip
    done(bench, "/bikes/1/findings", text="grips worn", severity="warn")
    assert refused(bench, "/bikes/1/findings/decline", finding="2", name="Lena")[0] == 409
    done(bench, "/bikes/1/findings/2", act="quote", text="new grips", price="20")
    done(bench, "/bikes/1/findings/decline", finding=["1", "2"], name="Lena Aldis",
         files={"signature": ("s.jpg", picture)})  # fmt: skip
    page = bench.get("/bikes/1/inspection").text
    assert "Not to be ridden: bar scored" in page and "Do-not-ride tag" in page
    assert "Lena Aldis" not in page
    done(bench, "/bikes/1/findings/1", act="right", text="new bar fitted")
    assert "Not to be ridden" not in bench.get("/bikes/1/inspection").text
    assert refused(bench, "/bikes/1/findings/1", act="burn", text="x") == (422, ["act"])
    assert refused(bench, "/bikes/1/inspection", cause="rusty") == (422, ["cause"])


def test_an_item_is_let_pass_with_a_second_person(bench: Client, own: Shop) -> None:
    page = bench.get("/bikes/1/gates").text
    assert "Let it pass with a second person" in page
    never = re.search(r'name="item" value="brake-hold"', page)
    assert never is None, "no form for what nobody may pass by"
    form = {"item": "saddle", "reason": "customer brings it", "by": "Ada"}
    assert refused(bench, "/bikes/1/gates/ride/override", **form, second="Ada")[1] == [
        "same-person"
    ]
    done(bench, "/bikes/1/gates/ride/override", **form, second="Bea")
    gate = bench.data("/bikes/1/gates")["ride"]
    assert "saddle" not in {row["item"] for row in gate["missing"]}
    assert "let pass: Customer brings it" in bench.get("/bikes/1/gates").text
    gone = {**form, "item": "brake-hold", "second": "Bea"}
    assert refused(bench, "/bikes/1/gates/ride/override", **gone) == (409, ["never-override"])


def test_a_shop_of_one_offers_no_override(tmp_path: Path) -> None:
    with Shop.open(tmp_path / "data") as alone:
        opened(alone)
        page = let_in(alone).get("/bikes/1/gates").text
        assert "Let it pass with" not in page
        assert "With one person in the shop nothing is let pass" in page


def test_tools_and_what_they_are_set_to(bench: Client) -> None:
    done(
        bench, "/tools", name="small click", low="2", high="20", arm="200", calibrated="2020-01-01"
    )
    page = bench.get("/tools").text
    assert "overdue since" in page
    asked = bench.data("/tools?tool=1&torque=5&crowfoot=40")["setting"]
    assert asked["set"] == pytest.approx(4.1)
    wrong = bench.get("/tools?tool=1&torque=50")
    assert wrong.status_code == 422 and "only inside its scale" in wrong.text
    done(bench, "/tools", name="small click", low="2", high="20", tool="1",
         calibrated=date.today().isoformat())  # fmt: skip
    assert "good until" in bench.get("/tools").text
    assert refused(bench, "/tools", name="", low="x", high="20")[0] == 422
    done(bench, "/tools/1/retire", reason="dropped")
    assert bench.data("/tools")["tools"][0]["retired"] == "dropped"


def test_two_figures_that_disagree(bench: Client) -> None:
    path = "/settle?field=bike.frame.insertion_min&a=80+mm&b=100+mm"
    assert bench.data(path)["verdict"]["winner"] == "b"
    assert "100 mm (the maker" in bench.get(path).text
    wrong = bench.get("/settle?field=bike.nothing&a=1&b=2")
    assert wrong.status_code == 422 and "bike.nothing" in wrong.text


def test_due_on_every_bike(bench: Client, own: Shop) -> None:
    assert "Nothing is due" in bench.get("/care").text
    assert due.due_all(own) == ()
    assert build.plan_for(own, 1).steps


def test_electric_cartons_list_their_charger(bench: Client, own: Shop) -> None:
    assert "part:charger" not in bench.get("/bikes/1/carton").text
    read = sheets.read_sheets(
        EXAMPLES / "bikes/trail.toml",
        EXAMPLES / "riders/light.toml",
        EXAMPLES / "places/left.toml",
    )
    electric = sheets.changed(read, ["bike.electric.motor=250 W"])
    bike = receive.open_bike(own, electric, by="Ada")
    assert "part:charger" in bench.get(f"/bikes/{bike}/carton").text


def test_a_change_and_a_setting_by_hand_are_one_act(bench: Client, own: Shop) -> None:
    both = ["bike.cockpit.spacers_under+=5 mm", "set.fork_pressure=60 psi"]
    form = {"change": both, "uuid": str(uuid.uuid4())}
    before = own.state(1).number
    done(bench, "/bikes/1/change", **form)
    done(bench, "/bikes/1/change", **form)
    kinds = [event.kind for event in own.events(1)[before:]]
    assert kinds == ["sheet-changed", "planned", "setting-made"]
    # What the record refuses of one, it keeps nothing of the other.
    late = {"change": [both[0], "set.fork_pressure=70 psi"], "seen": str(before)}
    assert refused(bench, "/bikes/1/change", **late)[0] == 409
    assert own.state(1).number == before + 3
    done(bench, "/bikes/1/undo")
    assert own.state(1).settings == {}


def test_what_holds_the_bike_up_is_settled_on_its_own_page(bench: Client, own: Shop) -> None:
    """Each reason of the gates page leads to where it is put right, whatever item it holds."""
    done(bench, "/bikes/1/carton/damage", text="a cracked head tube", where="inside")
    done(bench, "/bikes/1/carton/parts", **{"part:front rotor": "missing"})
    done(bench, "/bikes/1/care/wear", kind="front-pad", value="2.5")
    done(bench, "/bikes/1/care/off", part="rear brake lever")
    page = bench.get("/bikes/1/gates").text
    for why, place in (
        ("cracked head tube: have it looked at", "/bikes/1/carton"),
        ("Front rotor is missing", "/bikes/1/carton"),
        ("worn out at 3.0", "/bikes/1/care#held"),
        ("Rear brake lever was taken off", "/bikes/1/care#held"),
    ):
        line = page[page.index(why) :]
        assert f'href="{place}"' in line[: line.index("</p>")], why
    held = bench.get("/bikes/1/care").text.partition('id="held"')[2].partition("</section>")[0]
    assert "worn out at 3.0" in held and "Rear brake lever" in held and "rotor is" not in held
    (damage,) = bench.data("/bikes/1/carton")["damages"]
    assert damage["open"] and "nobody rides" in bench.get("/bikes/1/carton").text
    form = {"damage": str(damage["number"]), "how": "replaced", "what": "a new frame"}
    assert refused(bench, "/bikes/1/carton/settle", **{**form, "how": "fine"}) == (422, ["how"])
    done(bench, "/bikes/1/carton/settle", **form)
    assert bench.data("/bikes/1/carton")["damages"][0]["how"] == "replaced"
    told = {"part": "rear brake lever", "maker": "Quill", "marks": "1"}
    assert refused(bench, "/bikes/1/care/part", **told)[1] == ["not-there"]
    done(bench, "/bikes/1/care/part", part="rear brake lever", maker="Quill")
    assert "Rear brake lever was taken off" not in bench.get("/bikes/1/gates").text
