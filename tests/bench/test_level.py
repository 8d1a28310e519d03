"""The level's page without a browser: takes in, angles with their error out, kept when asked."""

from __future__ import annotations

import math

import numpy as np
import pytest

from bench.conftest import Client

JSON = {"accept": "application/json"}


def samples(tilt: float, count: int = 30) -> list[list[float]]:
    """A phone at rest with its top end up by this much [degrees]."""
    y, z = 9.81 * math.sin(math.radians(tilt)), 9.81 * math.cos(math.radians(tilt))
    return [[0.0, y, z]] * count


def written(tilt: float) -> str:
    return ";".join(",".join(f"{part:.2f}" for part in one) for one in samples(tilt))


def readings(client: Client, kind: str) -> list[dict]:
    return client.data(f"/bikes/1/level?of={kind}")["readings"]


def test_a_take_is_measured_and_nothing_kept(client: Client) -> None:
    before = client.data("/bikes/1/events")["number"]
    body = {"kind": "lever-left", "samples": samples(-47.0)}
    answer = client.post("/bikes/1/level/take", json=body, headers=JSON).json()
    angle = answer["angle"]
    assert math.degrees(angle["value"]) == pytest.approx(47.0)
    assert angle["low"] < angle["value"] < angle["high"] and angle["basis"] == "measured"
    assert "Left lever" in " ".join(answer["said"])
    assert client.data("/bikes/1/events")["number"] == before


def test_a_take_is_kept_with_its_interval_and_a_typed_one_with_a_wider(client: Client) -> None:
    form = {"kind": "saddle-tilt", "samples": written(-1.5), "turned": written(1.7)}
    answer = client.post("/bikes/1/level", data=form, headers=JSON).json()
    assert math.degrees(answer["value"]) == pytest.approx(-1.6, abs=0.05)
    typed = client.post("/bikes/1/level", data={"kind": "saddle-tilt", "value": "−1,500 °"})
    assert typed.status_code == 422 and "−1,500" in typed.text
    client.post("/bikes/1/level", data={"kind": "saddle-tilt", "value": "−1,5 °"})
    by_hand, by_phone = readings(client, "saddle-tilt")[:2]
    widths = [np.degrees(one["extra"]["high"] - one["extra"]["low"]) for one in (by_hand, by_phone)]
    assert widths[0] > widths[1] > 0.5
    assert (by_hand["extra"]["how"], by_phone["extra"]["how"]) == ("typed", "level")
    page = client.get("/bikes/1/level").text
    assert "off the level" in page and "typed" in page
    assert "Saddle tilt" in client.get("/bikes/1/readings").text


def test_levers_read_apart_are_told_to_be_alike(client: Client) -> None:
    client.post("/bikes/1/level", data={"kind": "lever-left", "value": "50"})
    answer = client.post(
        "/bikes/1/level", data={"kind": "lever-right", "value": "40"}, headers=JSON
    ).json()
    assert "differ by 10°" in answer["said"] and answer["next"]["name"] == "lever_angle"


@pytest.mark.parametrize(
    ("form", "told"),
    [
        ({"kind": "saddle-tilt", "samples": "1,2"}, "hold the phone still"),
        ({"kind": "saddle-tilt", "samples": "spirit"}, "or type the angle"),
        ({"kind": "saddle-tilt", "samples": written(80.0)}, "-30 to 30 deg"),
        ({"kind": "saddle-tilt", "samples": "0,0,30;" * 8 + "0,0,30"}, "keep it still"),
        ({"kind": "lever-left", "value": "level"}, "level"),
    ],
)
def test_what_cannot_be_is_refused_in_a_sentence(client: Client, form: dict, told: str) -> None:
    before = client.data("/bikes/1/events")["number"]
    answer = client.post("/bikes/1/level", data=form)
    assert answer.status_code == 422 and told in answer.text
    assert client.data("/bikes/1/events")["number"] == before


def test_the_steps_that_set_an_angle_lead_to_the_level(client: Client) -> None:
    for step, kind in (("lever-angle", "lever-left"), ("saddle-clamp-set", "saddle-tilt")):
        page = client.get(f"/bikes/1/steps/{step}").text
        assert f'href="/bikes/1/level?of={kind}"' in page
    assert "/level?of=" not in client.get("/bikes/1/steps/bar-in-stem").text


def test_the_level_knows_three_things_alone(client: Client) -> None:
    assert client.get("/bikes/1/level?of=bar").status_code == 404
    body = {"kind": "bar", "samples": samples(1.0)}
    assert client.post("/bikes/1/level/take", json=body, headers=JSON).status_code == 422
    long = {"kind": "saddle-tilt", "samples": samples(1.0, 500)}
    assert client.post("/bikes/1/level/take", json=long, headers=JSON).status_code == 422
