"""The bench's side of phones: letting one in, the list of them, and shutting one out."""

from __future__ import annotations

import io
from typing import Annotated, Any

import segno
from fastapi import APIRouter, Path, Request
from markupsafe import Markup
from starlette.responses import JSONResponse, Response

from cyclewright.bench import forms, visit
from cyclewright.bench.forms import Form
from cyclewright.bench.phones import network_of, pairings_of
from cyclewright.bench.render import go, page, person_of, session_of, shop_of
from cyclewright.errors import refusal
from cyclewright.workshop import devices, people, pins

router = APIRouter(include_in_schema=False)
api = APIRouter(prefix="/api/devices")

Device = Annotated[int, Path(ge=1, lt=2**31)]


@router.get("/devices")
def show(request: Request) -> Response:
    """Every phone that was let in, and the way to let in another."""
    found = devices.devices(shop_of(request))
    network = network_of(request)
    data = {
        "devices": [device.to_json() for device in found],
        "address": None if network is None else network.origin,
    }
    context = {"devices": found, "said": session_of(request).take()}
    return page(request, "devices.html", data, context)


@router.post("/devices/pair")
def begin(request: Request) -> Response:
    """Offer a new code; the one before works no more."""
    if network_of(request) is None:
        raise refusal("no-lan", "", "start the bench with `cyclewright bench --lan` first")
    shop = shop_of(request)
    if pins.used(shop):
        people.who(shop, person_of(request))
    pairings_of(request).offer()
    return go(request, "/devices/pair")


@router.get("/devices/pair")
def pairing(request: Request) -> Response:
    """The code as a picture for the phone's camera, then the phone that asks."""
    seen, network = pairings_of(request).seen(), network_of(request)
    if seen is None or network is None:
        return go(request, "/devices")
    code = pairings_of(request).code()
    address = "" if code is None else f"{network.origin}/pair#{code}"
    count = sum(device.allowed for device in devices.devices(shop_of(request)))
    context = {
        "pairing": seen,
        "origin": network.origin,
        "picture": _picture(address) if address else "",
        "address": address,
        "fingerprint": network.fingerprint,
        "name": f"Phone {count + 1}",
    }
    data = {"state": seen.state, "left": seen.left, "number": seen.number, "address": address}
    return page(request, "pairing.html", data, context)


@router.post("/devices/confirm")
def confirm(request: Request, form: Form) -> Response:
    """Let in the phone that shows this number, or nobody."""
    shop, found = shop_of(request), pairings_of(request)
    if forms.text(form, "answer") != "yes":
        found.refuse()
        session_of(request).said = visit.Told("Nobody was let in.")
        return go(request, "/devices")
    if pins.used(shop):
        people.who(shop, person_of(request))
    name = forms.text(form, "name") or "Phone"
    if not found.confirm(forms.text(form, "number"), lambda: devices.let_in(shop, name)[1]):
        raise refusal("pair-over", "", "it took too long: let the phone ask with a new code")
    session_of(request).said = visit.Told(f"{name} is in.")
    return go(request, "/devices")


@router.post("/devices/{device}/revoke")
def revoke(request: Request, device: Device) -> Response:
    """Shut a phone out."""
    gone = devices.revoke(shop_of(request), device)
    session_of(request).said = visit.Told(f"{gone.name} is let in no more.")
    return go(request, "/devices")


@api.get("")
def listed(request: Request) -> Response:
    """Every phone that was let in."""
    found = devices.devices(shop_of(request))
    return JSONResponse({"devices": [device.to_json() for device in found]})


@api.post("/{device}/revoke")
def revoked(request: Request, device: Device) -> Response:
    """Shut a phone out."""
    return JSONResponse(devices.revoke(shop_of(request), device).to_json())


def _picture(address: str) -> Any:
    """A QR code as SVG that needs no style of its own."""
    out = io.BytesIO()
    code = segno.make(address, error="m", micro=False)
    code.save(
        out, kind="svg", xmldecl=False, omitsize=True, svgclass="qr", lineclass=None, light="#fff"
    )
    return Markup(out.getvalue().decode("utf-8"))
