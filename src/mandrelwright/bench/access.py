"""Who may use the bench where others can reach it: one code, read from the terminal or its QR."""

from __future__ import annotations

import hashlib
import secrets
import time
from collections import deque
from collections.abc import Callable

ALPHABET = "23456789ABCDEFGHJKMNPQRSTUVWXYZ"  # nothing that reads like another
SYMBOLS = 8  # 31^8, 8.5e11 codes
LASTS = 12 * 3600.0  # s, of a code and of a session
TRIES, WINDOW = 5, 60.0  # wrong codes from one address in so many seconds
ALL_TRIES = 60  # wrong codes from all addresses in the same time
MOST_SESSIONS = 200


class TooManyTriesError(Exception):
    """Wrong codes have come too fast; ``wait`` is in seconds."""

    def __init__(self, wait: float) -> None:
        super().__init__(f"wait {wait:.0f} s")
        self.wait = wait


def new_code() -> str:
    """A code of eight symbols that are told apart when read aloud."""
    return "".join(secrets.choice(ALPHABET) for _ in range(SYMBOLS))


class Access:
    """Code, sessions and wrong tries. Without a code everybody on this computer is let in."""

    def __init__(self, code: str = "", clock: Callable[[], float] = time.monotonic) -> None:
        self.code = code
        self._clock = clock
        self._until = clock() + LASTS
        self._sessions: dict[bytes, float] = {}
        self._wrong: deque[tuple[float, str]] = deque()

    @property
    def open(self) -> bool:
        """Nobody is asked for a code."""
        return not self.code

    def enter(self, given: str, who: str) -> str | None:
        """A session for the right code, None for a wrong one; raises TooManyTriesError.

        Compared in constant time. A code is no longer taken after twelve hours.
        """
        now = self._clock()
        self._refuse_haste(now, who)
        tidy = given.strip().upper().encode("utf-8", "replace")
        right = secrets.compare_digest(tidy, self.code.encode())
        if not right or now > self._until or self.open:
            self._wrong.append((now, who))
            return None
        session = secrets.token_urlsafe(32)
        self._sessions = {key: end for key, end in self._sessions.items() if end > now}
        while len(self._sessions) >= MOST_SESSIONS:
            self._sessions.pop(next(iter(self._sessions)))
        self._sessions[_mark(session)] = now + LASTS
        return session

    def holds(self, session: str) -> bool:
        """Whether a session stands."""
        return self.open or self._sessions.get(_mark(session), 0.0) > self._clock()

    def _refuse_haste(self, now: float, who: str) -> None:
        while self._wrong and self._wrong[0][0] <= now - WINDOW:
            self._wrong.popleft()
        own = [when for when, other in self._wrong if other == who]
        for times, most in ((own, TRIES), ([when for when, _ in self._wrong], ALL_TRIES)):
            if len(times) >= most:
                raise TooManyTriesError(times[-most] + WINDOW - now)


def _mark(session: str) -> bytes:
    """What is kept of a session: its hash, so that looking it up tells nothing by its time."""
    return hashlib.sha256(session.encode("utf-8", "replace")).digest()
