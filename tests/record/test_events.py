"""Bodies and hashes: exact bytes, no NaN, every part counts."""

from __future__ import annotations

import hashlib
import json

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cyclewright.errors import InputError, Integrity
from cyclewright.record import events
from cyclewright.record.events import Draft

JSON = st.recursive(
    st.none()
    | st.booleans()
    | st.integers()
    | st.floats(allow_nan=False, allow_infinity=False)
    | st.text(st.characters(exclude_categories=("Cs",))),
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(st.text(max_size=5), inner),
    max_leaves=10,
)


@given(st.dictionaries(st.text(st.characters(exclude_categories=("Cs",)), max_size=5), JSON))
def test_a_body_gives_back_what_was_recorded(data: dict[str, object]) -> None:
    body = events.encode(Draft("reading-taken", "reading:x", data, by=3), 4, "T", False)
    event = events.decode(7, 5, body)
    assert (event.stream, event.number, event.by, event.seen) == (7, 5, 3, 4)
    assert json.loads(json.dumps(event.data)) == json.loads(json.dumps(data))
    assert event.known


@pytest.mark.parametrize("bad", [float("nan"), float("inf"), {1, 2}, "\ud800"])
def test_what_json_cannot_hold_is_refused(bad: object) -> None:
    with pytest.raises(InputError, match="cannot be recorded"):
        events.encode(Draft("reading-taken", "reading:x", {"value": bad}), 0, "T", False)


def test_too_much_at_once_is_refused() -> None:
    with pytest.raises(InputError, match="record less text at once"):
        events.encode(Draft("step-problem", "step:a", {"x": "y" * 5_000_000}), 0, "T", False)


def test_the_hash_is_length_prefixed_sha256() -> None:
    """Exact identity: the chain's definition written out a second time."""
    parts = [b"p" * 32, b"3", b"12", b"body"]
    expected = hashlib.sha256(b"".join(len(p).to_bytes(8, "big") + p for p in parts)).digest()
    assert events.link(b"p" * 32, 3, 12, b"body") == expected


@given(st.integers(1, 99), st.integers(1, 99), st.binary(max_size=20), st.binary(max_size=20))
def test_no_two_different_events_share_a_hash(a: int, b: int, one: bytes, two: bytes) -> None:
    same = (a, one) == (b, two)
    assert (events.link(b"", 1, a, one) == events.link(b"", 1, b, two)) == same
    if a != b:
        assert events.link(b"", a, b, one) != events.link(b"", b, a, one)


@pytest.mark.parametrize("body", [b"", b"{}", b"\xff", b"[1]", b'{"kind": 1}', b"[" * 100_000])
def test_a_torn_body_is_named(body: bytes) -> None:
    with pytest.raises(Integrity, match="bike 4 event 9: it is not as it was written"):
        events.decode(4, 9, body)


def test_old_data_is_raised_step_by_step(monkeypatch: pytest.MonkeyPatch) -> None:
    body = events.encode(Draft("step-done", "step:a", {"name": "a"}), 0, "T", False)
    monkeypatch.setitem(events.KINDS, "step-done", 3)
    monkeypatch.setitem(events.RAISERS, ("step-done", 1), lambda d: {"step": d["name"]})
    monkeypatch.setitem(events.RAISERS, ("step-done", 2), lambda d: {**d, "evidence": {}})
    event = events.decode(1, 1, body)
    assert (event.version, event.data) == (3, {"step": "a", "evidence": {}})


def test_a_newer_version_or_kind_is_not_known(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(events.KINDS, "invented", 1)
    monkeypatch.setitem(events.KINDS, "step-done", 2)
    bodies = [
        events.encode(Draft(kind, "s", {}), 0, "T", False) for kind in ("invented", "step-done")
    ]
    monkeypatch.undo()
    assert [events.decode(1, 1, body).known for body in bodies] == [False, False]


def test_every_attachment_of_an_event_is_found() -> None:
    data = {"a": {"attachment": "x"}, "b": [{"c": {"attachment": "y"}}], "d": "attachment"}
    assert events.attachments(data) == ["x", "y"]
