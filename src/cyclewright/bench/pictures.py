"""Photos in and out of the record: taken with forms, shown where their bike's pages name them."""

from __future__ import annotations

from fastapi import APIRouter, Request
from starlette.datastructures import FormData, UploadFile
from starlette.responses import Response

from cyclewright.bench.render import missing_page, shop_of
from cyclewright.errors import CyclewrightError, input_error

router = APIRouter(include_in_schema=False)

LARGEST = 16 * 1024 * 1024


@router.get("/bikes/{bike}/pictures/{address}")
def show(request: Request, bike: int, address: str) -> Response:
    """One photo of this bike's carton or inspection; no other attachment is ever sent."""
    shop = shop_of(request)
    state = shop.state(bike)
    box = state.carton
    named = {*box.photos, box.serial_photo}
    named |= {one for item in box.damages for one in item.photos}
    named |= {one for part in box.parts.values() for one in part.photos}
    named |= {one for found in state.findings.values() for one in found.photos}
    if address not in named - {""}:
        return missing_page(request, "This bike has no such photo.")
    try:
        kept = shop.store.attachment(address)
    except CyclewrightError:
        return missing_page(request, "This photo was erased.")
    return Response(kept.payload, 200, {"cache-control": "no-store"}, "image/jpeg")


def photos(form: FormData, key: str = "photo") -> list[bytes]:
    """The photos of a form's field, none when none was taken."""
    found = []
    for item in form.getlist(key):
        if not isinstance(item, UploadFile) or not item.filename:
            continue
        body = item.file.read(LARGEST + 1)
        if len(body) > LARGEST:
            raise input_error("photo-size", key, "send photos of at most 16 MB each")
        found.append(body)
    return found


def photo(form: FormData, key: str = "photo") -> bytes | None:
    """The one photo of a form's field, None when none was taken."""
    return next(iter(photos(form, key)), None)
