"""Worker processes for what takes longer than a blink; only the newest wish of a page is heeded."""

from __future__ import annotations

import asyncio
import os
from collections import OrderedDict
from collections.abc import Callable
from concurrent.futures import ProcessPoolExecutor
from concurrent.futures.process import BrokenProcessPool
from multiprocessing import get_context
from typing import Any

from mandrelwright.bench import redraw
from mandrelwright.threads import use_one_thread

PAGES = 4096  # pages whose newest number is remembered


class SupersededError(Exception):
    """The page has asked for something newer meanwhile."""


class Workers:
    """A few processes, each with everything imported; numbers of pages, nothing of a design."""

    def __init__(self, count: int | None = None) -> None:
        self.count = count or max(2, min(os.cpu_count() or 2, 4))
        self._free = asyncio.Semaphore(self.count)
        self._newest: OrderedDict[str, int] = OrderedDict()
        self._pool = self._started()

    def _started(self) -> ProcessPoolExecutor:
        use_one_thread()  # several processes, one thread each, beat one with many
        return ProcessPoolExecutor(self.count, get_context("spawn"), redraw.warm)

    async def run(self, task: Callable[..., Any], *arguments: Any) -> Any:
        """The task's answer, once a process is free."""
        async with self._free:
            return await self._in_process(task, arguments)

    async def newest(self, page: str, number: int, task: Callable[..., Any], *rest: Any) -> Any:
        """The same, unless the page asks for something newer before it begins.

        Raises SupersededError then.
        """
        self._newest[page] = max(number, self._newest.get(page, 0))
        self._newest.move_to_end(page)
        while len(self._newest) > PAGES:
            self._newest.popitem(last=False)
        async with self._free:
            if self._newest.get(page, 0) > number:
                raise SupersededError
            return await self._in_process(task, rest)

    async def _in_process(self, task: Callable[..., Any], arguments: tuple[Any, ...]) -> Any:
        loop = asyncio.get_running_loop()
        try:
            return await loop.run_in_executor(self._pool, task, *arguments)
        except BrokenProcessPool:  # a worker was killed from outside: start afresh, once
            self._pool = self._started()
            return await loop.run_in_executor(self._pool, task, *arguments)

    async def warmed(self) -> None:
        """Start every process now rather than at the first key press."""
        loop = asyncio.get_running_loop()
        tasks = [loop.run_in_executor(self._pool, redraw.warm) for _ in range(2 * self.count)]
        await asyncio.gather(*tasks)

    def stop(self) -> None:
        """End the processes once they have done what they are at; what waits is dropped.

        A bench that were gone before them would leave them behind.
        """
        self._pool.shutdown(wait=True, cancel_futures=True)
