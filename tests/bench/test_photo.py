"""Angles off a photo: points in, angles with intervals out, nothing kept."""

from __future__ import annotations

from bench.conftest import Client

POINTS = {
    "rear_axle": [300, 700],
    "front_axle": [820, 700],
    "hip": [480, 330],
    "knee": [560, 480],
    "ankle": [550, 645],
}


def test_points_give_angles_with_their_intervals(client: Client) -> None:
    body = {"points": POINTS, "size": [1200, 900]}
    headers = {"accept": "application/json"}
    before = client.data("/bikes/1/events")["number"]
    answer = client.post("/bikes/1/photo", json=body, headers=headers).json()
    knee = next(item for item in answer["angles"] if item["name"] == "knee_flexion")
    assert knee["low"] < knee["value"] < knee["high"]
    assert answer["said"]
    assert client.data("/bikes/1/events")["number"] == before


def test_what_is_wrong_with_points_is_told_together(client: Client) -> None:
    body = {"points": {"nose": [1, 2], "hip": [3, 4]}, "size": [0, 900], "distance": 0}
    headers = {"accept": "application/json"}
    answer = client.post("/bikes/1/photo", json=body, headers=headers)
    assert answer.status_code == 422
    fields = {error["field"] for error in answer.json()["errors"]}
    assert fields >= {"rear_axle", "front_axle", "nose", "size", "distance"}


def test_a_picture_is_not_taken(client: Client) -> None:
    answer = client.post("/bikes/1/photo", files={"photo": ("side.png", b"\x89PNG")})
    assert answer.status_code == 422
