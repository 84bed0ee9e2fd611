"""Lots of resin and sleeve, and what a part was made of and tried on."""

from __future__ import annotations

from collections.abc import Iterator

from mandrelwright.job.values import InputError
from mandrelwright.shop.entries import Entry, make, own
from mandrelwright.shop.log import Log, correction, links

DATES = {"bought": "bought_on", "opened": "opened_on", "use by": "use_by"}
LIKE = "slow = L123, opened 2026-10-05"


def find_lot(log: Log, kind: str, text: str, by: str = "") -> tuple[Entry, list[Entry]]:
    """A lot of resin or sleeve by its text, and what is to be kept of it: nothing, if all is known.

    "NAME" or "NAME, opened DAY" is the latest lot of that name; "NAME = LOT, bought DAY, opened
    DAY, use by DAY" is that lot, new or with its dates told now.
    """
    name, _, rest = (piece.strip() for piece in text.partition("=" if "=" in text else ","))
    told = _told(kind, rest)
    known = [row.entry for row in log.standing() if row.entry.kind == kind]
    same = [e for e in known if getattr(e, "name", "") == name]
    if "lot" in told:
        same = [e for e in same if getattr(e, "lot", "") == told["lot"]]
    if not same:
        entry = make(kind, name=name, by=by, **told)
        return entry, [entry]
    latest = same[-1]
    news = {key: value for key, value in told.items() if getattr(latest, key) != value}
    if not news:
        return latest, []
    entry = correction(latest, "told later", by=by, **news)
    return entry, [entry]


def _told(kind: str, text: str) -> dict[str, str]:
    """Lot and dates in the text behind the name."""
    out: dict[str, str] = {}
    for piece in filter(None, (piece.strip() for piece in text.split(","))):
        word = next((word for word in DATES if piece.startswith(f"{word} ")), "lot")
        key = DATES.get(word, "lot")
        if key in out or key not in own(kind):
            raise InputError(f'"{piece}" cannot be said of a {kind} there', f'write "{LIKE}"')
        out[key] = piece.removeprefix(word).strip() if word in DATES else piece
    return out


def of_part(
    about: Entry, resin: Entry | None, sleeves: list[Entry], mate: str, by: str = ""
) -> Iterator[Entry]:
    """What ties a part to its lots and its mate: the part corrected once, an event a sleeve.

    Raises InputError for a mate or resin of something that is no part.
    """
    told = {"resin": resin.id if resin else "", "mate": mate}
    news = {key: value for key, value in told.items() if value}
    if about.kind != "part" and mate:
        raise InputError(f"a {about.kind} has no mate", "name the part: --part 1")
    if about.kind != "part":
        return
    if news:
        about = correction(about, "told later", by=by, **news)
        yield about
    for sleeve in sleeves:
        yield make("event", **links(about), by=by, what="sleeve", lot=sleeve.id)
