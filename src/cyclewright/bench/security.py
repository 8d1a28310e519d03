"""Who may talk to the bench: host, origin, session and headers, denied unless allowed."""

from __future__ import annotations

import hashlib
import secrets
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Any

from starlette.datastructures import Headers, MutableHeaders
from starlette.requests import Request, cookie_parser
from starlette.responses import JSONResponse, PlainTextResponse, Response
from starlette.types import ASGIApp, Message, Receive, Scope, Send

SAFE_METHODS = frozenset({"GET", "HEAD", "OPTIONS"})
LARGEST_BODY = 24 * 1024 * 1024
_PUBLIC = ("/static/", "/assets/")
_CONTENT_POLICY = (
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self'; font-src 'self'; "
    "connect-src 'self'; form-action 'self'; manifest-src 'self'; "
    "frame-ancestors 'none'; base-uri 'none'"
)
_HEADERS = {
    "content-security-policy": _CONTENT_POLICY,
    "x-content-type-options": "nosniff",
    "x-frame-options": "DENY",
    "referrer-policy": "same-origin",
    "cross-origin-opener-policy": "same-origin",
    "cross-origin-resource-policy": "same-origin",
    "permissions-policy": "camera=(self), microphone=(self), geolocation=(), usb=(), payment=()",
}


@dataclass(slots=True)
class Session:
    """One signed-in browser: who is working on it, and what the next page has to tell."""

    person: str | None = None
    said: Any = None

    def take(self) -> Any:
        """What is to be told, once."""
        said, self.said = self.said, None
        return said


@dataclass(slots=True)
class Keyring:
    """The launch token and the sessions it opened; only hashes of cookies are kept."""

    token: str
    _sessions: dict[str, Session] = field(default_factory=dict)

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


def cookie_name(port: int) -> str:
    """Cookies do not know ports, so two benches on one machine would share one name."""
    return f"cyclewright_{port}"


def allowed_hosts(port: int) -> frozenset[str]:
    """The Host headers a loopback bench answers to."""
    names = ("127.0.0.1", "localhost", "[::1]")
    bare = names if port == 80 else ()
    return frozenset(f"{name}:{port}" for name in names) | frozenset(bare)


class Guard:
    """ASGI middleware: refuse what is not ours before any page runs, and set the headers."""

    def __init__(
        self,
        app: ASGIApp,
        *,
        keyring: Keyring,
        port: int,
        fault: Callable[[Request, Exception], Response],
    ) -> None:
        self.app = app
        self.fault = fault
        self.keyring = keyring
        self.cookie = cookie_name(port)
        self.hosts = allowed_hosts(port)

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Check one request and pass it on, or answer it here."""
        if scope["type"] == "lifespan":
            await self.app(scope, receive, send)
            return
        if scope["type"] != "http":
            return
        headers = Headers(scope=scope)
        refused = self._refusal(scope, headers)
        watched = _Watched(_with_headers(send, scope["path"]))
        try:
            await (refused or self.app)(scope, _capped(receive), watched)
        except Exception as error:
            if watched.started:
                raise
            await self.fault(Request(scope), error)(scope, receive, watched)

    def _refusal(self, scope: Scope, headers: Headers) -> Response | None:
        """The answer to a request that may not pass; sets `scope["session"]` for one that may."""
        if headers.getlist("host") not in [[host] for host in self.hosts]:
            return PlainTextResponse("Open the address that the bench printed.\n", 400)
        if (length := headers.get("content-length")) and not _fits(length):
            return PlainTextResponse("Too large: send at most 24 MB.\n", 413)
        if scope["method"] not in SAFE_METHODS and not self._same_origin(headers):
            return PlainTextResponse("This did not come from a page of this bench.\n", 403)
        session = self.keyring.session(cookie_parser(headers.get("cookie", "")).get(self.cookie))
        scope["session_of_bench"] = session
        if session is not None or scope["path"] == "/launch":
            return None
        if scope["path"].startswith(_PUBLIC) and scope["method"] in SAFE_METHODS:
            return None
        if scope["method"] in SAFE_METHODS and "text/html" in headers.get("accept", ""):
            scope["path"], scope["raw_path"], scope["query_string"] = "/launch", b"/launch", b""
            return None
        problem = {"code": "not-signed-in", "field": "", "do": "open the address the bench printed"}
        return JSONResponse({"errors": [problem]}, 401)

    def _same_origin(self, headers: Headers) -> bool:
        """Whether an unsafe request names this bench as its origin."""
        origin = headers.get("origin")
        if origin is None:
            return headers.get("sec-fetch-site") == "same-origin"
        return origin.removeprefix("http://") == headers["host"]


class _Watched:
    """`send` that remembers whether the response has begun."""

    def __init__(self, send: Send) -> None:
        self.send = send
        self.started = False

    async def __call__(self, message: Message) -> None:
        self.started = True
        await self.send(message)


def _fits(length: str) -> bool:
    return length.isdecimal() and len(length) <= 12 and int(length) <= LARGEST_BODY


def _hashed(cookie: str) -> str:
    return hashlib.sha256(cookie.encode()).hexdigest()


def _capped(receive: Receive) -> Receive:
    """`receive` that stops a body without a length from growing for ever."""
    seen = 0

    async def limited() -> Message:
        nonlocal seen
        message = await receive()
        seen += len(message.get("body", b""))
        if seen > LARGEST_BODY:
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
            if not path.startswith(_PUBLIC):
                headers.setdefault("cache-control", "no-store")
        await send(message)

    return sender
