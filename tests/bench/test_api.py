"""The API: described, the same answers as the use cases, errors in the house's shape."""

from __future__ import annotations

import uuid

import pytest

from bench.conftest import EXAMPLES, Client
from cyclewright.workshop import advising
from cyclewright.workshop.shop import Shop


def test_the_description_lists_api_paths_only(client: Client) -> None:
    paths = client.get("/api/openapi.json").json()["paths"]
    assert "/api/bikes/{bike}/gates/{gate}" in paths
    assert all(path.startswith("/api/") for path in paths)


def test_advice_is_that_of_the_use_case(client: Client, shop: Shop) -> None:
    change = "bike.cockpit.spacers_under+=10 mm"
    told = client.get("/api/bikes/1/advice", params={"change": change}).json()
    ours = advising.advise_bike(shop, 1, [change]).to_json()
    assert told == ours
    assert {row["name"] for row in told["changes"]} >= {"bar_height"}


@pytest.mark.parametrize(
    "what", ["", "/plan", "/check", "/verify", "/gates/ride", "/gates/release"]
)
def test_every_reading_path_answers(client: Client, what: str) -> None:
    answer = client.get(f"/api/bikes/1{what}")
    assert answer.status_code == 200
    assert isinstance(answer.json(), dict)


def test_a_bike_is_opened_recorded_and_undone(client: Client) -> None:
    texts = {
        "bike": (EXAMPLES / "bikes/hardtail.toml").read_text(),
        "place": (EXAMPLES / "places/right.toml").read_text(),
        "mass": "80 kg",
    }
    bike = client.post("/api/bikes", json=texts).json()["bike"]
    step = client.get(f"/api/bikes/{bike}").json()["next_step"]
    noted = client.post(f"/api/bikes/{bike}/steps/{step}", json={"problem": "a crushed corner"})
    assert noted.status_code == 200
    undone = client.post(f"/api/bikes/{bike}/undo", json={})
    assert undone.json()["numbers"][0] > noted.json()["numbers"][0]


def test_whatever_is_sent_twice_is_recorded_once(client: Client, shop: Shop) -> None:
    """A program that did not hear the answer sends the same again, with the same UUID."""
    texts = {
        "bike": (EXAMPLES / "bikes/hardtail.toml").read_text(),
        "place": (EXAMPLES / "places/right.toml").read_text(),
        "mass": "80 kg",
        "uuid": str(uuid.uuid4()),
    }
    bike, again = (client.post("/api/bikes", json=texts).json()["bike"] for _ in range(2))
    assert bike == again
    steps = [
        step["id"]
        for step in client.get(f"/api/bikes/{bike}/plan").json()["steps"]
        if step["evidence"] == ["tick"] and not step["needs"]
    ]
    for path, body in (
        (f"steps/{steps[0]}", {}),
        ("ticks", {"steps": steps[1:3]}),
        ("changes", {"changes": ["bike.cockpit.bar_rise+=5 mm"]}),
        ("readings/fork-pressure", {"value": "70 psi"}),
        ("undo", {}),
    ):
        sent = {**body, "uuid": str(uuid.uuid4())}
        first, second = (client.post(f"/api/bikes/{bike}/{path}", json=sent) for _ in range(2))
        assert (first.status_code, second.status_code) == (200, 200), (path, first.text)
        stands = shop.state(bike).number
        client.post(f"/api/bikes/{bike}/{path}", json=sent)
        assert shop.state(bike).number == stands, path
    seen = {"changes": ["bike.cockpit.bar_rise+=5 mm"], "seen": 2}
    assert client.post(f"/api/bikes/{bike}/changes", json=seen).status_code == 409


@pytest.mark.parametrize(
    ("path", "body", "field"),
    [
        ("/api/bikes", {"bike": "x"}, "place"),
        ("/api/bikes/1/steps/fork-forward", {"nonsense": 1}, "nonsense"),
        ("/api/bikes/1/changes", {"changes": ["bike.cockpit.spacers_under=20"]}, "spacers_under"),
        ("/api/bikes/1/readings/fork-sag", {"value": "20 psi"}, "fork-sag"),
        ("/api/bikes/999/undo", {}, "bike"),
    ],
)
def test_errors_are_in_the_houses_shape(
    client: Client, path: str, body: dict[str, object], field: str
) -> None:
    answer = client.post(path, json=body)
    assert answer.status_code == 422
    errors = answer.json()["errors"]
    assert any(field in error["field"] for error in errors)
    assert all(set(error) >= {"code", "field", "do"} for error in errors)


def test_a_gate_that_is_not_ready_is_not_passed(client: Client) -> None:
    answer = client.post("/api/bikes/1/gates/ride").json()
    assert answer["passed"] is False
    assert answer["missing"]


def test_a_release_without_its_gates_is_a_conflict_by_name(client: Client) -> None:
    answer = client.post("/api/bikes/1/release", json={"by": "Mara Quill"})
    assert answer.status_code == 409
    assert any(error["field"] == "ride-gate" for error in answer.json()["errors"])
