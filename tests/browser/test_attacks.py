"""Hostile requests by the hundred: nothing changes, nothing leaks, no script of theirs runs.

A seeded share runs with the tests, the thousand with scripts/campaign.
"""

from __future__ import annotations

import json
import os
import random
import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import httpx
import pytest
from playwright.sync_api import Browser, expect

from mandrelwright.bench.form import form_of
from mandrelwright.bench.guard import MOST_BYTES
from mandrelwright.job.materials import load_library
from tests.apart import apart
from tests.browser.conftest import ROOT, Bench, watch

COUNT = 1000 if os.environ.get("MANDRELWRIGHT_CAMPAIGN") else 150
SEED = 6
NOSE = (ROOT / "examples" / "plover-nose.toml").read_text("utf-8")
PATHS = ["../secret.toml", "..\\secret.toml", "%2e%2e/secret.toml", "....//secret.toml",
         "/etc/passwd", "nose.toml/../../secret.toml", "nose\u0000.toml", "file:secret.toml", ".",
         "secret.toml\n", "plover-nose.toml ", "~/secret.toml", "link.toml"]  # fmt: skip
SCRIPTS = ["<script>window.hacked=1</script>", "\"><img src=x onerror=window.hacked=1>",
           "</text></svg><script>window.hacked=1</script>", "javascript:window.hacked=1",
           "{{7*7}}", "'; DROP TABLE parts; --", "<svg/onload=window.hacked=1>"]  # fmt: skip
LEAKS = ("root:", "Traceback", "site-packages", "SECRET", "/tmp/", 'File "')


def secret(bench: Bench) -> Path:
    """A job outside the folder, and a link to it within."""
    path = bench.folder.parent / "secret.toml"
    path.write_text(NOSE.replace("Plover nose", "SECRET"), "utf-8")
    link = bench.folder / "link.toml"
    if not link.is_symlink():
        link.symlink_to(path)
    return path


def state(folder: Path) -> dict[str, bytes]:
    return {path.name: path.read_bytes() for path in folder.iterdir() if path.is_file()}


def hostile(draw: random.Random, bench: Bench) -> Iterator[tuple[str, str, dict[str, Any]]]:
    """Method, path, and what httpx sends: one attack after another, for ever."""
    body = {"job": "plover-nose.toml", "text": NOSE, "units": "mm"}
    while True:
        kind = draw.randrange(9)
        headers = dict(bench.headers)
        path = draw.choice(PATHS)
        if kind == 0:
            yield "GET", f"/api/job/{path}", {"headers": headers}
        elif kind == 1:
            content = json.dumps({"job": path, "text": "x", "loaded": ""})
            yield "POST", "/api/save", {"headers": headers, "content": content}
        elif kind == 2:
            headers["host"] = draw.choice(["evil.example", "127.0.0.1", "localhost:1", "[::1]"])
            yield draw.choice(["GET", "POST"]), "/api/job/plover-nose.toml", {"headers": headers}
        elif kind == 3:
            headers["origin"] = draw.choice(["http://evil.example", "null", "", "file://"])
            content = json.dumps({"job": "plover-nose.toml", "text": "x", "loaded": ""})
            yield "POST", "/api/save", {"headers": headers, "content": content}
        elif kind == 4:
            yield "POST", "/api/redraw", {"headers": headers, "content": b"{" * (MOST_BYTES + 9)}
        elif kind == 5:
            wrong: dict[str, Any] = draw.choice(
                [{"edits": 5}, {"number": -1}, {"text": 5}, {"extra": 1}, {"units": "m"}]
            )
            content = json.dumps({**body, **wrong})
            yield "POST", "/api/redraw", {"headers": headers, "content": content}
        elif kind == 6:
            content = draw.choice(["", "[]", "null", "\x00\xff", '{"job":NaN}', "[" * 5000])
            yield "POST", draw.choice(["/api/gate", "/api/save", "/enter"]), {
                "headers": headers, "content": content}  # fmt: skip
        elif kind == 7:
            given = {"code": draw.choice(["", "A" * 40, "ABCD2345", "' OR 1=1", "\u0000"])}
            yield "POST", "/enter", {"headers": headers, "content": json.dumps(given)}
        else:
            name = draw.choice([*SCRIPTS, "../../x", "__class__", "plan.job.path"])
            content = json.dumps({**body, "name": name})
            yield "POST", "/api/why", {"headers": headers, "content": content}


def test_nothing_changes_and_nothing_leaks(bench: Bench) -> None:
    outside = secret(bench)
    before, there = state(bench.folder), outside.read_bytes()
    attacks = hostile(random.Random(SEED), bench)
    with httpx.Client(base_url=bench.address, timeout=120.0) as client:
        for _ in range(COUNT):
            method, path, rest = next(attacks)
            try:
                answer = client.request(method, path, **rest)
            except (httpx.InvalidURL, UnicodeError):
                continue  # the client itself refuses to send it
            assert answer.status_code < 500, (method, path, answer.text)
            assert not any(leak in answer.text for leak in LEAKS), (method, path, answer.text)
            assert "default-src 'none'" in answer.headers["content-security-policy"]
            assert "access-control-allow-origin" not in answer.headers
    assert state(bench.folder) == before
    assert outside.read_bytes() == there


PLACED = r"(?<!from = )(?<!to = )"  # "tip" names an item there, but also a place of layers


def text_full_of(script: str) -> str:
    """The example with a script in every name, wherever a name is used."""
    rows = [row for group in form_of(NOSE, load_library())["groups"] for row in group["rows"]]
    names = {row["text"] for row in rows if row["stated"] and row["label"] in ("name", "club")}
    ours = sorted(name for name in names if name not in load_library().resins)
    assert len(ours) > 8
    text = NOSE
    for number, name in enumerate(ours):
        put = json.dumps(f"{script[:50]} {number}").replace("\\", r"\\")  # a pattern's own sign
        text = re.sub(PLACED + re.escape(json.dumps(name)), put, text)
    return text


@pytest.mark.parametrize("script", SCRIPTS)
def test_a_script_in_every_text_field_stays_text(
    bench: Bench, chromium: Browser, script: str
) -> None:
    path = bench.folder / "scripted.toml"
    path.write_text(text_full_of(script), "utf-8")
    context = chromium.new_context()
    watched = watch(context, bench.address)
    page = watched.page
    page.goto(f"{bench.address}/job/scripted.toml#layers")
    expect(page.locator("#all > li").first).to_be_visible()
    assert script[:30] in page.locator("#part").inner_text()
    assert page.evaluate("window.hacked === undefined")
    foreign = "img, iframe, object, embed, script:not([src^='/static/']), [onload], [onerror]"
    assert page.locator(foreign).count() == 0
    context.close()
    path.unlink()
    assert watched.errors == []
    assert watched.outside == []


def test_a_code_is_asked_of_everybody_where_others_can_reach_it(bench: Bench) -> None:
    """The same application behind a code, as on another address than this computer's own."""
    from mandrelwright.bench.access import TRIES, Access
    from mandrelwright.bench.app import make_app
    from mandrelwright.bench.guard import hosts_of

    app = make_app(bench.folder, hosts_of("192.0.2.7", 8410), Access("ABCD2345"))
    base = "http://192.0.2.7:8410"
    headers = {"origin": base, "content-type": "application/json"}

    async def story() -> list[int]:
        transport = httpx.ASGITransport(app=app)
        async with httpx.AsyncClient(transport=transport, base_url=base, headers=headers) as client:
            told = [(await client.get("/api/jobs")).status_code]
            for _ in range(TRIES - 1):
                wrong = await client.post("/enter", json={"code": "ABCD2346"})
                told.append(wrong.status_code)
            told.append((await client.post("/enter", json={"code": "abcd2345"})).status_code)
            told.append((await client.get("/api/jobs")).status_code)
            return told

    told = apart(story)
    assert told == [401, *[403] * (TRIES - 1), 200, 200]
