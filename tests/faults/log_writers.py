"""Writers of a log that are killed, or write at once: run as a program, because they fork.

    python -m tests.faults.log_writers kill PLACE SEED ROUNDS FRESH_EVERY
    python -m tests.faults.log_writers together PLACE WRITERS COUNT

Prints what was acknowledged and what was found as JSON. A process that has threads should not
fork; this one has none, and opens no log of its own while a writer lives.
"""

from __future__ import annotations

import json
import os
import random
import signal
import sys
import time
from collections.abc import Callable, Iterable

import alembic.command  # so that no writer spends its life importing
import sqlalchemy as sa

from mandrelwright.shop.engine import locate
from mandrelwright.shop.entries import make
from mandrelwright.shop.log import open_log

BATCH = 3  # entries that are given together
MOST_STEPS = 5  # opening is the first, then each batch: a kill follows at most so many of them
MOST_AFTER = 0.03  # s between such a step and the kill; a batch takes about as long
OPEN = b"open\n"


def fork(work: Callable[[int], None]) -> tuple[int, int]:
    """Start a process that does the work with the writing end of a pipe; its id, the other end."""
    reading, writing = os.pipe()
    child = os.fork()
    if child == 0:
        os.close(reading)
        try:
            work(writing)
        finally:
            os._exit(0)
    os.close(writing)
    return child, reading


def write(place: str, name: str, count: int, pipe: int) -> None:
    """Add batches of entries; each batch goes into the pipe once it is acknowledged."""
    with open_log(place) as log:
        os.write(pipe, OPEN)
        for number in range(count):
            batch = [make("note", text=f"{name} {number} {part}") for part in range(BATCH)]
            log.append(batch)
            os.write(pipe, f"{' '.join(entry.id for entry in batch)}\n".encode())


def follow(pipe: int, steps: int) -> bytes:
    """What a writer has said when it has taken so many steps."""
    said = b""
    while said.count(b"\n") < steps and (more := os.read(pipe, 65536)):
        said += more
    return said


def everything(pipe: int, said: bytes = b"") -> list[list[str]]:
    """Acknowledged batches of a writer that has ended; ``said`` was read before."""
    with os.fdopen(pipe, "rb") as file:
        lines = (said + file.read()).removeprefix(OPEN).split(b"\n")
    return [line.decode().split() for line in lines[:-1]]


def kill(place: str, seed: int, rounds: int, fresh_every: int) -> dict[str, object]:
    """Kill a writer at a random moment, again and again; look after each whether all is there.

    With ``fresh_every`` some rounds have a new SQLite file, killed while it is made.
    """
    draw = random.Random(seed)
    acknowledged: list[list[str]] = []
    lost, torn, damaged, newly = 0, 0, 0, 0
    for number in range(rounds):
        fresh = bool(fresh_every) and number % fresh_every == fresh_every - 1
        where = f"{place}.{number}" if fresh else place
        child, pipe = fork(lambda out, w=where, n=number: write(w, str(n), 10_000, out))  # type: ignore[misc]  # defaults bind the round
        said = follow(pipe, draw.randrange(MOST_STEPS + 1))
        time.sleep(draw.uniform(0.0, MOST_AFTER))
        os.kill(child, signal.SIGKILL)
        os.waitpid(child, 0)
        own = everything(pipe, said)
        if fresh:
            newly += len(own)
        else:
            acknowledged += own
        with open_log(where) as log:
            held = {row.entry.id for row in log.entries(kind="note")}
        wanted = own if fresh else acknowledged
        lost += sum(key not in held for batch in wanted for key in batch)
        torn += len(held) % BATCH != 0
        damaged += not sound(where)
    return {
        "acknowledged": len(acknowledged) + newly,
        "lost": lost,
        "torn": torn,
        "damaged": damaged,
    }


def sound(place: str) -> bool:
    """Whether SQLite finds its file whole; a server looks after its own."""
    url = locate(place)
    if url.drivername != "sqlite":
        return True
    engine = sa.create_engine(url)
    with engine.connect() as connection:
        answer = connection.exec_driver_sql("PRAGMA integrity_check").scalar()
        keys = connection.exec_driver_sql("PRAGMA foreign_key_check").all()
    engine.dispose()
    return answer == "ok" and keys == []


def together(place: str, writers: int, count: int) -> dict[str, object]:
    """Several processes write at once, on a log that none of them finds made."""
    started = [
        fork(lambda out, n=name: write(place, f"writer {n}", count, out))  # type: ignore[misc]  # defaults bind the name
        for name in range(writers)
    ]
    acknowledged = [batch for _, pipe in started for batch in everything(pipe)]
    for child, _ in started:
        os.waitpid(child, 0)
    with open_log(place) as log:
        rows = log.entries()
    held = {row.entry.id for row in rows}
    return {
        "acknowledged": len(acknowledged),
        "lost": sum(key not in held for batch in acknowledged for key in batch),
        "found": len(rows),
        "mixed": _mixed([getattr(row.entry, "text", "") for row in rows]),
    }


def _mixed(texts: Iterable[str]) -> int:
    """Batches that another writer's entry stands in."""
    stems = [text.rpartition(" ")[0] for text in texts]
    return sum(len(set(stems[i : i + BATCH])) > 1 for i in range(0, len(stems), BATCH))


if __name__ == "__main__":
    assert alembic.command
    place, numbers = sys.argv[2], [int(text) for text in sys.argv[3:]]
    found = kill(place, *numbers) if sys.argv[1] == "kill" else together(place, *numbers)
    print(json.dumps(found))
