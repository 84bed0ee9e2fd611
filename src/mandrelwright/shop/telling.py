"""A log in words: one line for each entry, with what replaced it and what looks odd about it."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence

from mandrelwright.shop.entries import HEAD, Entry
from mandrelwright.shop.entries import rules as rules_of
from mandrelwright.shop.expect import outliers
from mandrelwright.shop.fields import Measure
from mandrelwright.shop.standing import Logged, standing

QUIET = ("job_text", "job_digest", "facts", "job", "questioned", "sha256")  # not for a line
PLAIN = {"of": "diameter", "repeat": 1, "cost": 0.0}  # what needs no words


def tell(rows: Sequence[Logged]) -> list[str]:
    """Every entry as a line: number, time, about, what; replaced and odd ones say so."""
    names = {row.entry.id: str(getattr(row.entry, "name", "")) for row in rows}
    numbers = {row.entry.id: row.number for row in rows}
    later = {row.entry.replaces: row for row in rows if row.entry.replaces}
    far = outliers(standing(rows))
    out = []
    for number, entry in rows:
        line = f"{number:>4}  {entry.at[:16].replace('T', ' ')}  {describe(entry, names)}"
        out.append(line + "".join(_remarks(Logged(number, entry), later, numbers, far)))
    return out


def summary(where: str, rows: Sequence[Logged]) -> str:
    """What is in the log, in one line."""
    stand = Counter(row.entry.kind for row in standing(rows))
    told = [f"{count} {kind}{'s' if count > 1 else ''}" for kind, count in stand.items()]
    mended = sum(1 for row in rows if row.entry.replaces)
    more = f"; {mended} corrected or withdrawn" if mended else ""
    return f"{where}: {', '.join(told) or 'nothing yet'}{more}"


def describe(entry: Entry, names: Mapping[str, str]) -> str:
    """An entry in words; names by id."""
    about = [
        f"{kind} {names.get(target, '?')}"
        for kind, target in (("mould", entry.mould), ("part", entry.part), ("coupon", entry.coupon))
        if target is not None
    ]
    words = [entry.kind]
    for name in rules_of(entry.kind):
        value = getattr(entry, name)
        if name in (*HEAD, *QUIET) or value in (None, "") or PLAIN.get(name) == value:
            continue
        words.append(_word(name, value, names))
    return " · ".join([*about, " ".join(words), *([f"by {entry.by}"] if entry.by else [])])


def _word(name: str, value: object, names: Mapping[str, str]) -> str:
    text = value.text.strip() if isinstance(value, Measure) else str(value)
    if name in ("name", "what", "stage", "mark", "text", "of", "gate", "path"):
        return " ".join(text.split())
    return f"{name.replace('_', ' ')} {names.get(text) or text}"


def _remarks(
    row: Logged, later: Mapping[str, Logged], numbers: Mapping[str, int], far: Mapping[int, float]
) -> list[str]:
    entry, out = row.entry, []
    if entry.replaces:
        why = f": {entry.because}" if entry.because else ""
        verb = "takes back" if entry.kind == "withdrawal" else "replaces"
        out.append(f"  ({verb} {numbers[entry.replaces]}{why})")
    if entry.id in later:
        gone = later[entry.id]
        verb = "taken back" if gone.entry.kind == "withdrawal" else "replaced"
        out.append(f"  [{verb} by {gone.number}]")
    elif getattr(entry, "questioned", ""):
        out.append("  [questioned when entered, and kept]")
    if row.number in far:
        out.append("  [far from the others]")
    return out
