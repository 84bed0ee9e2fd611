"""Many at once: every client gets its own job back, the newest of it, and no error.

A few seconds run with the tests, fifty clients for a minute with scripts/campaign.
"""

from __future__ import annotations

import asyncio
import os
import random
import time
import tomllib

import httpx

from tests.apart import apart
from tests.browser.conftest import ROOT, Bench

CAMPAIGN = bool(os.environ.get("MANDRELWRIGHT_CAMPAIGN"))
CLIENTS, LASTS = (50, 60.0) if CAMPAIGN else (12, 6.0)
SEED = 50
NOSE = (ROOT / "examples" / "plover-nose.toml").read_text("utf-8")


async def edit_for_a_while(bench: Bench, number: int, until: float) -> int:
    """One builder at one job: changes, each checked to be the builder's own; how many."""
    draw = random.Random(SEED + number)
    name = f"Wader {number}"
    text = NOSE.replace("Plover nose", name)
    done = 0
    async with httpx.AsyncClient(headers=bench.headers, timeout=300.0) as client:
        while time.monotonic() < until or done == 0:
            mates = f"{draw.randrange(9890, 9911) / 100:.2f} mm +- 0.02 mm"
            change = {"do": "set", "at": ["fit", 0, "mates"], "value": mates}
            body = {"job": "plover-nose.toml", "text": text, "units": "mm", "edits": [change],
                    "page": f"page {number}", "number": done}  # fmt: skip
            answer = await client.post(f"{bench.address}/api/redraw", json=body)
            assert answer.status_code == 200, answer.text
            told = answer.json()
            text = told["text"]
            data = tomllib.loads(text)
            assert (data["part"]["name"], data["fit"][0]["mates"]) == (name, mates)
            assert f">{name}</text>" in told["drawings"]["section"]
            assert f"mate ø {float(mates.split()[0]):.2f}" in told["drawings"]["section"]
            done += 1
            await asyncio.sleep(draw.uniform(0.0, 1.0))
    return done


def test_nobody_gets_anything_of_another(bench: Bench) -> None:
    async def all_of_them() -> list[int]:
        until = time.monotonic() + LASTS
        return await asyncio.gather(
            *(edit_for_a_while(bench, number, until) for number in range(CLIENTS))
        )

    done = apart(all_of_them)
    assert min(done) >= 1
    print(f"{CLIENTS} clients, {sum(done)} redraws in {LASTS:.0f} s, none mixed, no error")
