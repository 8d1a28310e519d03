"""The API against requests made from its own description: whatever is sent, no fault of ours.

Half of the requests keep to the description and half break it; most name a bike that is there.
Every answer is one that the description knows, and every refusal says what to do.
"""

from __future__ import annotations

import time
from collections import Counter
from collections.abc import Iterator
from contextlib import suppress
from typing import Any

import schemathesis
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st
from hypothesis.errors import Unsatisfiable
from schemathesis import Case, GenerationMode

from bench.conftest import ORIGIN, Client
from cyclewright.workshop.shop import Shop

EXAMPLES = 16
"""Requests an operation and way of making them: about half a minute in all."""
KNOWN = {
    "bike": (1, 2, 3),
    "step": ("frame-looked-over", "fork-forward", "headset-preload", "no-such-step"),
    "kind": ("fork-sag", "front-tyre", "shock-pressure"),
    "device": (1, 2),
}
JSON = "application/json"


def _send(client: Client, case: Case) -> Any:
    """One request in process, with the cookie and origin of a page of the bench."""
    cookies = "; ".join(f"{name}={value}" for name, value in client.http.cookies.items())
    headers = {"origin": ORIGIN, "cookie": cookies, "accept": JSON}
    return case.call(base_url=ORIGIN, headers=headers)


def _operations(app: Any) -> Iterator[Any]:
    schema = schemathesis.openapi.from_dict(app.openapi())
    schema.app = app
    for result in schema.get_all_operations():
        yield result.ok()


def test_no_request_is_a_fault_of_ours(client: Client, shop: Shop) -> None:
    begun = time.monotonic()
    seen: Counter[int] = Counter()
    app = client.http._transport.app  # type: ignore[attr-defined]
    operations = list(_operations(app))
    assert len(operations) >= 18
    for operation in operations:
        for mode in (GenerationMode.POSITIVE, GenerationMode.NEGATIVE):
            seen += _tried(client, operation, mode)
    spent = time.monotonic() - begun
    print(f"{seen.total()} requests in {spent:.0f} s: {dict(sorted(seen.items()))}")
    assert {200, 409, 422} <= set(seen)
    assert seen.total() > 300
    assert [event.number for event in shop.events(1)] == list(range(1, shop.state(1).number + 1))


def _tried(client: Client, operation: Any, mode: GenerationMode) -> Counter[int]:
    """The answers to requests for one operation."""
    seen: Counter[int] = Counter()

    @given(case=operation.as_strategy(generation_mode=mode), data=st.data())
    @settings(
        max_examples=EXAMPLES,
        deadline=None,
        database=None,
        derandomize=True,
        phases=[Phase.generate],
        suppress_health_check=list(HealthCheck),
    )
    def tried(case: Case, data: st.DataObject) -> None:
        for name in set(case.path_parameters or ()) & set(KNOWN):
            if data.draw(st.integers(0, 3)):
                case.path_parameters[name] = data.draw(st.sampled_from(KNOWN[name]))
        answer = _send(client, case)
        seen[answer.status_code] += 1
        _check(operation, case, answer)

    with suppress(Unsatisfiable):  # what takes nothing cannot be asked wrongly
        tried()
    return seen


def _check(operation: Any, case: Case, answer: Any) -> None:
    told = f"{case.method} {case.formatted_path} {case.body!r}: {answer.status_code}"
    assert answer.status_code < 500, f"{told} {answer.text}"
    documented = set(operation.definition.raw["responses"]) | {"400", "404", "405", "413"}
    assert str(answer.status_code) in documented, told
    if answer.status_code in (409, 422):
        errors = answer.json()["errors"]
        assert errors and all(error["code"] and error["do"] for error in errors), told
