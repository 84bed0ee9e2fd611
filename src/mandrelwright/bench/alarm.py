"""Clocks of cups and stays: started by an entry in the log, rung on this computer when they end.

A clock is an event "clock" whose text is its name and its minutes, "cup 1, 59 min", and runs from
the moment of the entry; an event "clock stopped" with its name ends it, a withdrawal undoes either.
"""

from __future__ import annotations

import asyncio
import re
from collections.abc import Iterable
from datetime import datetime
from typing import NamedTuple

from mandrelwright.bench.shop import ShopLogs
from mandrelwright.shop.entries import Event
from mandrelwright.shop.log import LogError
from mandrelwright.shop.standing import Logged

EVERY = 2.0  # s between two looks at the logs
FORGOTTEN = 3600.0  # s after its end a clock rings no more: nobody was there
_CLOCK = re.compile(r"(?P<name>.{1,40}), (?P<minutes>\d{1,6}(\.\d)?) min")


class Clock(NamedTuple):
    """A running clock: of which job, its name, when it ends (s since 1970), the entry's id."""

    job: str
    name: str
    ends: float
    id: str


def running(job: str, rows: Iterable[Logged]) -> list[Clock]:
    """Clocks of a job that were started and not stopped, from what stands in its log."""
    found: dict[tuple[str | None, str | None, str], Clock] = {}
    for _, entry in rows:
        if not isinstance(entry, Event):
            continue
        about = (entry.mould, entry.part)
        if entry.what == "clock" and (clock := _CLOCK.fullmatch(entry.text)):
            ends = datetime.fromisoformat(entry.at).timestamp() + 60.0 * float(clock["minutes"])
            found[(*about, clock["name"])] = Clock(job, clock["name"], ends, entry.id)
        elif entry.what == "clock stopped":
            found.pop((*about, entry.text), None)
    return list(found.values())


class Alarm:
    """Rings once for every clock that ends while the bench is served."""

    def __init__(self, logs: ShopLogs) -> None:
        self.logs = logs
        self._rung: set[str] = set()
        self._known: dict[str, tuple[int, list[Clock]]] = {}  # newest entry looked at, clocks

    def due(self, now: float) -> list[Clock]:
        """Clocks that have ended since the last look, each told once."""
        ended = []
        for job in self.logs.folder.names():
            for clock in self._running(job):
                if clock.ends <= now < clock.ends + FORGOTTEN and clock.id not in self._rung:
                    self._rung.add(clock.id)
                    ended.append(clock)
        return ended

    def _running(self, job: str) -> list[Clock]:
        """Running clocks of a job; a log that has not grown is not read through again."""
        log = self.logs.find(job)
        newest, clocks = self._known.get(job, (0, []))
        new = log.entries(newest) if log else []
        if log and new:
            clocks = running(job, log.standing())
            self._known[job] = new[-1].number, clocks
        return clocks

    async def watch(self) -> None:
        """Look every two seconds, until cancelled; ring on the terminal."""
        while True:
            await asyncio.sleep(EVERY)
            for clock in await asyncio.to_thread(self._looked):
                print(f"\a{clock.job}: the time of {clock.name} is over.", flush=True)

    def _looked(self) -> list[Clock]:
        try:
            return self.due(datetime.now().timestamp())
        except LogError:
            return []  # a log that cannot be read now is told where it is used
