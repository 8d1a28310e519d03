"""Who may talk to the bench: host, origin, session and headers, denied unless allowed."""

from __future__ import annotations

import hashlib
import secrets
import time
from collections.abc import Callable
from contextlib import nullcontext, suppress
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

from anyio import to_thread
from starlette.datastructures import Headers, MutableHeaders
from starlette.requests import Request, cookie_parser
from starlette.responses import JSONResponse, PlainTextResponse, Response
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from cyclewright.bench.network import Network, loopback_hosts
from cyclewright.errors import CyclewrightError
from cyclewright.workshop import devices, people, pins

if TYPE_CHECKING:
    from cyclewright.workshop.shop import Shop

SAFE_METHODS = frozenset({"GET", "HEAD", "OPTIONS"})
LARGEST_BODY = 24 * 1024 * 1024
LARGEST_JSON = 4 * 1024 * 1024
LARGEST_UNASKED = 4096
"""Bytes that somebody who is not signed in may send."""
LOOK_AGAIN = 2.0
"""Seconds after which an answer that goes on and on asks anew whether its phone is let in."""
_FILES = ("/static/", "/assets/")
_BENCH_UNASKED = ("/launch",)
_PHONE_UNASKED = ("/pair", "/pair/wait", "/trust", "/trust/authority.crt")
_BENCH_ONLY = ("/launch", "/devices", "/api/devices", "/people", "/api/people", "/erase")
"""What a phone may not do: let others in, shut them out, settle who works here, erase."""
_CONTENT_POLICY = (
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self'; font-src 'self'; "
    "connect-src 'self'; worker-src 'self'; form-action 'self'; manifest-src 'self'; "
    "frame-ancestors 'none'; base-uri 'none'"
)
_SENSORS = ("accelerometer", "camera", "gyroscope", "magnetometer", "microphone")
_OURS = (*_SENSORS, "screen-wake-lock")
_NOBODYS = (
    *("autoplay", "display-capture", "encrypted-media", "fullscreen", "gamepad"),
    *("geolocation", "hid", "idle-detection", "local-fonts", "midi", "payment"),
    *("picture-in-picture", "publickey-credentials-create", "publickey-credentials-get"),
    *("serial", "storage-access", "usb", "window-management", "xr-spatial-tracking"),
)
_PERMISSIONS = ", ".join(
    [*(f"{name}=(self)" for name in _OURS), *(f"{name}=()" for name in _NOBODYS)]
)
_HEADERS = {
    "content-security-policy": _CONTENT_POLICY,
    "x-content-type-options": "nosniff",
    "x-frame-options": "DENY",
    "referrer-policy": "same-origin",
    "cross-origin-opener-policy": "same-origin",
    "cross-origin-resource-policy": "same-origin",
    "origin-agent-cluster": "?1",
    "permissions-policy": _PERMISSIONS,
}


@dataclass(slots=True)
class Session:
    """One signed-in browser: who is working on it, and what the next page has to tell."""

    person: str | None = None
    number: int | None = None
    """The number of that person, once the record has one."""
    said: Any = None
    device: int | None = None
    """Number of the phone; None is a browser on the bench's own machine."""
    called: str = ""
    """What the phone was called when it was let in."""
    shift: str | None = None
    """Token of the shift that was opened here with a PIN."""
    carried: str | None = None
    """The name that was last remembered for this phone."""

    def becomes(self, person: str | None) -> None:
        """Somebody else works on it from here, or nobody."""
        self.person, self.number = person, None

    def take(self) -> Any:
        """What is to be told, once."""
        said, self.said = self.said, None
        return said


@dataclass(slots=True)
class Keyring:
    """The launch token and the sessions it opened; only hashes of cookies are kept."""

    token: str
    _sessions: dict[str, Session] = field(default_factory=dict)
    _phones: dict[int, Session] = field(default_factory=dict)

    def exchange(self, token: str) -> str | None:
        """A new cookie value for the right launch token, None for a wrong one."""
        if not secrets.compare_digest(token.encode(), self.token.encode()):
            return None
        cookie = secrets.token_urlsafe(32)
        self._sessions[_hashed(cookie)] = Session()
        return cookie

    def session(self, cookie: str | None) -> Session | None:
        """The session of a cookie, None when nobody opened it."""
        return None if cookie is None else self._sessions.get(_hashed(cookie))

    def phone(self, device: devices.Device) -> Session:
        """The session of a phone that is let in; who worked with it last still does."""
        name = device.person
        new = Session(name, device=device.id, carried=name, called=device.name)
        return self._phones.setdefault(device.id, new)


def cookie_name(port: int, phone: bool = False) -> str:
    """Cookies do not know ports, so two benches on one machine would share one name."""
    return f"__Host-cyclewright_{port}" if phone else f"cyclewright_{port}"


class Guard:
    """ASGI middleware: refuse what is not ours before any page runs, and set the headers."""

    def __init__(
        self,
        app: ASGIApp,
        *,
        shop: Shop,
        keyring: Keyring,
        port: int,
        network: Network | None,
        fault: Callable[[Request, Exception], Response],
    ) -> None:
        self.app = app
        self.shop = shop
        self.fault = fault
        self.keyring = keyring
        self.port = port
        self.network = network
        self.own_hosts = loopback_hosts(port)

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Check one request and pass it on, or answer it here."""
        if scope["type"] == "lifespan":
            await self.app(scope, receive, send)
            return
        if scope["type"] != "http":
            return
        watched = _Watched(_with_headers(send, scope["path"]))
        try:
            await self._answer(scope, receive, watched)
        except Exception as error:
            if watched.started:
                raise
            answer = self.fault(Request(scope), error)
            await answer(scope, receive, watched)

    async def _answer(self, scope: Scope, receive: Receive, send: Send) -> None:
        headers, phone = Headers(scope=scope), scope["scheme"] == "https"
        refused = self._foreign(scope, headers, phone)
        if refused is not None:
            await refused(scope, receive, send)
            return
        cookie = cookie_parser(headers.get("cookie", "")).get(self._cookie_name(phone))
        session = await self._session(cookie, phone)
        scope["session_of_bench"], scope["phone_of_bench"] = session, phone
        most = _most(headers, session)
        refused = _too_large(headers, most) or self._uninvited(scope, headers, session, phone)
        if refused is not None:
            await refused(scope, receive, send)
            return
        if session is not None and session.person is not None:
            await to_thread.run_sync(self._present, session)
        receive = _capped(receive, most)
        if phone and session and cookie:
            receive, send = self._rechecked(receive, send, cookie)
        shift = None if session is None else session.shift
        with nullcontext() if shift is None else pins.on_shift_with(self.shop, shift):
            await self.app(scope, receive, send)
        if session is not None and scope["method"] not in SAFE_METHODS:
            await to_thread.run_sync(self._remember, session)

    def _cookie_name(self, phone: bool) -> str:
        port = self.network.port if phone and self.network is not None else self.port
        return cookie_name(port, phone)

    async def _session(self, cookie: str | None, phone: bool) -> Session | None:
        if not phone or cookie is None:
            return None if phone else self.keyring.session(cookie)
        device = await to_thread.run_sync(devices.of_cookie, self.shop, cookie)
        return None if device is None else self.keyring.phone(device)

    def _foreign(self, scope: Scope, headers: Headers, phone: bool) -> Response | None:
        """The answer to a request that was not meant for this bench or not sent by its pages."""
        network = self.network.hosts if self.network is not None else frozenset[str]()
        hosts = network if phone else self.own_hosts
        if headers.getlist("host") not in [[host] for host in hosts]:
            return PlainTextResponse("Open the address that the bench printed.\n", 400)
        if not _ours(scope, headers, f"{scope['scheme']}://{headers['host']}"):
            return PlainTextResponse("This did not come from a page of this bench.\n", 403)
        return None

    def _uninvited(
        self, scope: Scope, headers: Headers, session: Session | None, phone: bool
    ) -> Response | None:
        """The answer to somebody who is not signed in, or may not do this from a phone."""
        path, safe = scope["path"], scope["method"] in SAFE_METHODS
        if path.startswith(_FILES) and safe:
            return None
        if phone and _under(path, _BENCH_ONLY):
            return _refused(headers, 403, "bench-only", "do this at the bench, not on a phone")
        if session is not None or path in (_PHONE_UNASKED if phone else _BENCH_UNASKED):
            return None
        if safe and "text/html" in headers.get("accept", ""):
            ask = "/pair" if phone else "/launch"
            scope["path"], scope["raw_path"], scope["query_string"] = ask, ask.encode(), b""
            return None
        do = "pair this phone at the bench" if phone else "open the address the bench printed"
        return _refused(headers, 401, "not-signed-in", do)

    def _rechecked(self, receive: Receive, send: Send, cookie: str) -> tuple[Receive, Send]:
        """For a phone: what comes or goes on and on ends soon after the phone is revoked."""
        checked, over, ended = time.monotonic(), False, False

        async def look() -> bool:
            nonlocal checked, over
            if not over and time.monotonic() - checked > LOOK_AGAIN:
                checked = time.monotonic()
                over = await to_thread.run_sync(devices.of_cookie, self.shop, cookie) is None
            return over

        async def receiver() -> Message:
            message = await receive()
            return {"type": "http.disconnect"} if await look() else message

        async def sender(message: Message) -> None:
            nonlocal ended
            if ended:
                return
            ended = bool(message.get("more_body")) and await look()
            await send({"type": "http.response.body", "body": b""} if ended else message)

        return receiver, sender

    def _present(self, session: Session) -> None:
        """Nobody works under a name that was erased: its browsers ask anew who is there."""
        if session.person is None:
            return
        with suppress(CyclewrightError):
            known = people.find(self.shop, session.number or session.person)
            if session.number is None:
                session.number = None if known is None else known.id
            elif known is None:
                session.becomes(None)
                session.shift = session.carried = None

    def _remember(self, session: Session) -> None:
        """Who works with a phone is still known when the bench was started anew."""
        self._present(session)
        if session.device is None or session.person == session.carried:
            return
        if session.person is None or session.number is not None:
            with suppress(CyclewrightError):
                devices.carry(self.shop, session.device, session.person)
                session.carried = session.person


class _Watched:
    """`send` that remembers whether the response has begun."""

    def __init__(self, send: Send) -> None:
        self.send = send
        self.started = False

    async def __call__(self, message: Message) -> None:
        self.started = True
        await self.send(message)


def _ours(scope: Scope, headers: Headers, own: str) -> bool:
    """Whether a request comes from a page of this bench, or from nobody's page at all.

    Browsers say where a request comes from. What changes something, and a stream of events,
    must come from here; a page may also be opened by a link or typed in.
    """
    if len(headers.getlist("origin")) > 1 or len(headers.getlist("sec-fetch-site")) > 1:
        return False
    origin, site = headers.get("origin"), headers.get("sec-fetch-site")
    if origin is not None and origin != own:
        return False
    if scope["method"] not in SAFE_METHODS:
        return site == "same-origin" or (site is None and origin is not None)
    if "text/event-stream" in headers.get("accept", ""):
        return site in (None, "same-origin")
    if site in (None, "same-origin", "none"):
        return True
    return (headers.get("sec-fetch-mode"), headers.get("sec-fetch-dest")) == (
        "navigate",
        "document",
    )


def _under(path: str, roots: tuple[str, ...]) -> bool:
    return any(path == root or path.startswith(f"{root}/") for root in roots)


def _refused(headers: Headers, status: int, code: str, do: str) -> Response:
    problem = {"code": code, "field": "", "do": do}
    if "text/html" in headers.get("accept", ""):
        return PlainTextResponse(f"{do[0].upper()}{do[1:]}.\n", status)
    return JSONResponse({"errors": [problem]}, status)


def _most(headers: Headers, session: Session | None) -> int:
    """How many bytes a request may have."""
    if session is None:
        return LARGEST_UNASKED
    return LARGEST_JSON if "json" in headers.get("content-type", "").lower() else LARGEST_BODY


def _too_large(headers: Headers, most: int) -> Response | None:
    """The answer to a request whose stated length is more than it may have."""
    stated = headers.get("content-length")
    if stated is None or (stated.isdecimal() and len(stated) <= 12 and int(stated) <= most):
        return None
    return PlainTextResponse(f"Too large: send at most {_size(most)}.\n", 413)


def _size(most: int) -> str:
    return f"{most // 2**20} MB" if most >= 2**20 else f"{most // 2**10} kB"


def _hashed(cookie: str) -> str:
    return hashlib.sha256(cookie.encode()).hexdigest()


def _capped(receive: Receive, most: int) -> Receive:
    """`receive` that stops a body without a length from growing for ever."""
    seen = 0

    async def limited() -> Message:
        nonlocal seen
        message = await receive()
        seen += len(message.get("body", b""))
        if seen > most:
            return {"type": "http.disconnect"}
        return message

    return limited


def _with_headers(send: Send, path: str) -> Send:
    """`send` that adds the security headers to every response."""

    async def sender(message: Message) -> None:
        if message["type"] == "http.response.start":
            headers = MutableHeaders(scope=message)
            for name, value in _HEADERS.items():
                headers.setdefault(name, value)
            if not path.startswith(_FILES):
                headers.setdefault("cache-control", "no-store")
        await send(message)

    return sender
