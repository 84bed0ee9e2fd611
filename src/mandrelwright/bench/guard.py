"""What stands before every page: host, origin, size, access, and the headers of every answer."""

from __future__ import annotations

import ipaddress
from collections.abc import Awaitable, Callable, MutableMapping
from http.cookies import CookieError, SimpleCookie
from typing import Any

from starlette.exceptions import HTTPException

from mandrelwright.bench.access import Access

Scope = MutableMapping[str, Any]
Message = MutableMapping[str, Any]
Receive = Callable[[], Awaitable[Message]]
Send = Callable[[Message], Awaitable[None]]
App = Callable[[Scope, Receive, Send], Awaitable[None]]

MOST_BYTES = 1_500_000  # of a request: a job of 1 MB, its edits, and what JSON adds
TOO_LARGE = "larger than a job can be"
COOKIE = "bench"
POLICY = (
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data: blob:; "
    "font-src 'self'; connect-src 'self'; form-action 'self'; base-uri 'none'; "
    "frame-ancestors 'none'"
)
HEADERS = [
    (b"content-security-policy", POLICY.encode()),
    (b"x-content-type-options", b"nosniff"),
    (b"x-frame-options", b"DENY"),
    (b"referrer-policy", b"no-referrer"),
    (b"cross-origin-resource-policy", b"same-origin"),
    (b"cross-origin-opener-policy", b"same-origin"),
    (b"permissions-policy", b"camera=(), microphone=(), geolocation=(), payment=()"),
]
WITHOUT_CODE = ("/enter", "/static/")


class Guard:
    """ASGI middleware: refuses what did not come from a page of ours on a host of ours."""

    def __init__(self, app: App, hosts: frozenset[str], access: Access) -> None:
        self.app, self.hosts, self.access = app, hosts, access

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Let a request through, or answer it here."""
        if scope["type"] == "lifespan":
            await self.app(scope, receive, send)
            return
        if scope["type"] != "http":
            return
        headers = {key.decode("latin-1"): value.decode("latin-1")
                   for key, value in scope["headers"]}  # fmt: skip
        told = _with_headers(send, scope["path"])
        refusal = self._refusal(scope, headers)
        if refusal is not None:
            await _answer(told, *refusal)
            return
        await self.app(scope, _limited(receive), told)

    def _refusal(self, scope: Scope, headers: dict[str, str]) -> tuple[int, str] | None:
        host, path = headers.get("host", "").lower(), scope["path"]
        if host not in self.hosts:
            return 421, "this bench does not go by that name"
        foreign = headers.get("sec-fetch-site", "none") not in ("same-origin", "none")
        if foreign and (scope["method"] != "GET" or path.startswith("/api")):
            return 403, "asked by another site"
        if scope["method"] not in ("GET", "HEAD"):
            if headers.get("origin", "").lower() != f"http://{host}":
                return 403, "asked by another site"
            if headers.get("content-type", "").split(";")[0].strip() != "application/json":
                return 415, "send JSON"
        if not headers.get("content-length", "0").isdigit():
            return 400, "a length that is no number"
        if int(headers.get("content-length", "0")) > MOST_BYTES:
            return 413, TOO_LARGE
        if not self.access.holds(_session(headers)) and not path.startswith(WITHOUT_CODE):
            return (401, "enter the access code") if path.startswith("/api") else (303, "/enter")
        return None


def hosts_of(address: str, port: int) -> frozenset[str]:
    """The names under which a bench at this address is called."""
    names = {"127.0.0.1", "localhost", "[::1]"}
    if not ipaddress.ip_address(address).is_loopback:
        names.add(f"[{address}]" if ":" in address else address)
    return frozenset(f"{name}:{port}" for name in names)


def _session(headers: dict[str, str]) -> str:
    try:
        found = SimpleCookie(headers.get("cookie", "")).get(COOKIE)
    except CookieError:
        return ""
    return found.value if found else ""


def _limited(receive: Receive) -> Receive:
    taken = 0

    async def counted() -> Message:
        nonlocal taken
        message = await receive()
        taken += len(message.get("body", b""))
        if taken > MOST_BYTES:
            raise HTTPException(413, TOO_LARGE)
        return message

    return counted


def _with_headers(send: Send, path: str) -> Send:
    async def headed(message: Message) -> None:
        if message["type"] == "http.response.start":
            keep = b"no-cache" if path.startswith("/static/") else b"no-store"
            message["headers"] = [*message["headers"], *HEADERS, (b"cache-control", keep)]
        await send(message)

    return headed


async def _answer(send: Send, status: int, text: str) -> None:
    headers = [(b"content-type", b"text/plain; charset=utf-8")]
    if status == 303:
        headers, text = [(b"location", text.encode())], ""
    await send({"type": "http.response.start", "status": status, "headers": headers})
    await send({"type": "http.response.body", "body": text.encode()})
