"""Coroutines beside a browser: its driver holds the loop of the thread that the tests run in."""

from __future__ import annotations

import asyncio
from collections.abc import Callable, Coroutine
from concurrent.futures import ThreadPoolExecutor
from typing import Any, TypeVar

Told = TypeVar("Told")


def apart(story: Callable[[], Coroutine[Any, Any, Told]]) -> Told:
    """Run a coroutine in a thread of its own."""
    with ThreadPoolExecutor(1) as threads:
        return threads.submit(lambda: asyncio.run(story())).result()
