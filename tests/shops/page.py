"""The demo shop's page: chart, all predictions, why those that missed did, what was learned."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from textwrap import wrap

from mandrelwright.quantities import show_spread
from mandrelwright.shop.next import Proposal
from mandrelwright.shop.parts import Row
from mandrelwright.verdict import of_a_hundred
from tests.shops.bores import draw_bores
from tests.shops.sealed import ERRORS
from tests.shops.steps import Told

DOCS = Path(__file__).resolve().parents[2] / "docs"
SHOWN = 5e-6  # m: a cause that moved less is not listed
LEARNED = ("shrink", "offset", "release film", "springback")

HEAD = """\
# The demo shop: three moulds, nine parts

Written by `scripts/demo-shop` with the seed {seed}; not edited. Everything here is invented: the
Estuary Rocket Club makes nine Plover noses. What its printer, hands and room really do comes from
the *different* generator of [shops](shops.md): a drifting, damp filament, heavy tails, skewed
films, ovals, springback with heavy tails, calipers with a zero of their own, slips of the pen. The
program that predicts knows none of that; it is given what the calipers read and whether a part
fitted, nothing else.

Every prediction was written, behind its SHA-256, before what it predicts was drawn. The script
shows it line by line. In the code, who predicts and what is true never meet: the truth of a step
comes from a random stream of seed and step of its own and refuses to be drawn before the
prediction stands in the ledger; the tests record the order of writing and drawing, and change a
later truth to see that no earlier prediction moves.

{chosen}

{verdict}

![Nine bores, predicted and read](demo-shop.svg)

Green: the bores that fit with mate and oval as the job takes them. A part's own oval decides.

## All predictions

{table}

Spread: one standard uncertainty of the mean of two readings. *Off*: by how many of them it came
off; *inside* the 95 % interval or not. *Odds*: how many of 100 such parts fit, by the gate before
the lay-up. *Tried*: the clearance felt on the mate, from the truth. The hashes are cut here and
stand in full [below](#what-was-hashed).

One programme says little of coverage: the parts of a mould share its errors, and those of a shop
its habits, so that misses come in rows. [Shops](shops.md) has it for 2000 shops, and for bores on
a mould that was read.

## Why it missed

{misses}

{reworked}

## What the program made of it

{learned}

{parts}

## What was hashed

`printf '%s' '{{"of": …}}' | sha256sum` gives the hash of each line.

```
{hashed}
```
"""


@dataclass(frozen=True)
class Programme:
    """All predictions in their order, and what the program proposed after each mould."""

    told: list[Told]
    proposals: list[Proposal]


def page(seed: int, done: Programme) -> str:
    """The page; the same bytes for the same seed."""
    told = done.told
    bores = [each for each in told if each.step.do == "lay up"]
    missed = [each for each in told if not each.hit]
    chosen = (
        "The seed is the first, counted from 1, whose programme holds a miss: "
        + (_had(seed - 1) if seed > 1 else "it is the first that was tried") + "."
    )  # fmt: skip
    return HEAD.format(
        seed=seed,
        chosen=chosen,
        verdict=(
            f"**{len(told) - len(missed)} of {len(told)} predictions came inside their 95 % "
            f"interval, {sum(each.hit for each in bores)} of the {len(bores)} bores; "
            f"{sum(bool(each.came.seen.fits) for each in bores)} of {len(bores)} parts fitted.**"
        ),
        table="\n".join(_table(told)),
        misses="\n".join(
            line for each in missed for line in (*_why(each), *_misread(each, told))
        ).strip(),
        reworked="\n".join(_reworked(done)).strip(),
        learned="\n".join(_learned(done.proposals)),
        parts=_parts(done.proposals[-1].row),
        hashed="\n".join(f"{each.digest}\n{each.step.text}" for each in told),
    )


def chart(done: Programme) -> str:
    """The drawing of the nine parts, with the bores that fit by the job's own mate and form."""
    mate, form = _taken(done)
    window = done.proposals[0].before.fit.chain.lead.place.window
    least, most = (mate + form + limit for limit in window)
    return draw_bores(done.told, (least, most))


def _taken(done: Programme) -> tuple[float, float]:
    """What the job takes mate and form for (m)."""
    chain = done.proposals[0].before.fit.chain
    mean, name = chain.values(chain.mean[:, None]), chain.lead.place.name
    return float(mean[f"mate {name}"][0]), float(mean[f"form {name}"][0])


def _reworked(done: Programme) -> Iterator[str]:
    """Parts that did not fit, by what their clearance is made of, with the odds that were given."""
    mate, form = _taken(done)
    for each in done.told:
        on = each.came.tried
        if on is None or each.came.seen.fits:
            continue
        told = (
            f"{each.step.of[0].upper()}{each.step.of[1:]} had to be reworked, at odds of "
            f"{of_a_hundred(each.step.odds or 0.0)} of 100: clearance {on.play * 1e3:.3f} mm. The "
            f"bore is {on.bore * 1e3:.3f} mm (predicted {each.step.mean * 1e3:.3f}), oval and "
            f"lobes take {on.form * 1e3:.3f} (taken for {form * 1e3:.3f}), the mate measures "
            f"{on.mate * 1e3:.3f} (taken for {mate * 1e3:.3f})."
        )
        yield from (*wrap(told, 100), "")


def _had(before: int) -> str:
    return "the one before it had none" if before == 1 else f"the {before} before it had none"


def _mm(length: float) -> str:
    return f"{length * 1e3:.2f}"


def _table(told: Sequence[Told]) -> Iterator[str]:
    yield "| | what | predicted, mm | came, mm | off | inside? | odds | tried, mm | SHA-256 |"
    yield "|---|---|---|---|---|---|---|---|---|"
    for number, each in enumerate(told, start=1):
        step, on, off = each.step, each.came.tried, round(each.off, 1) + 0.0  # never -0.0
        odds = "" if step.odds is None else str(of_a_hundred(step.odds))
        tried = (
            "" if on is None else f"{_mm(on.play)} {'fits' if each.came.seen.fits else 'rework'}"
        )
        yield (
            f"| {number} | {step.of} | {step.mean * 1e3:.3f} ± {step.spread * 1e3:.3f} | "
            f"{each.read * 1e3:.3f} | {off:+.1f} | {'yes' if each.hit else '**no**'} | "
            f"{odds} | {tried} | `{each.digest[:10]}` |"
        )


def _why(told: Told) -> Iterator[str]:
    """A miss by cause: what the prediction took each to be, what it was, largest first."""
    off = (told.read - told.step.mean) * 1e3
    rows = told.causes()
    name, assumed, really = rows[0]
    yield (
        f"**{told.step.of[0].upper()}{told.step.of[1:]}**: {abs(told.off):.1f} spreads, "
        f"{off:+.3f} mm. Most is {name}: {(really - assumed) * 1e3:+.3f} mm."
    )
    yield ""
    yield "| cause | taken for, mm | really, mm | difference, mm |"
    yield "|---|---|---|---|"
    shown = [row for row in rows if abs(row[2] - row[1]) >= SHOWN]
    for name, assumed, really in shown:
        yield (
            f"| {name} | {assumed * 1e3:.3f} | {really * 1e3:.3f} | "
            f"{(really - assumed) * 1e3:+.3f} |"
        )
    rest = off - sum(really - assumed for _, assumed, really in shown) * 1e3
    yield f"| all else | | | {rest:+.3f} |"
    yield ""


def _misread(missed: Told, told: Sequence[Told]) -> Iterator[str]:
    """Of a mould that was misjudged: what the reading before erred by."""
    name, assumed, really = missed.causes()[0]
    if name not in ("ready mould", "mould before") or missed.step.do == "read again":
        return
    before = [each for each in told[: told.index(missed)] if each.step.do != "lay up"]
    last = [each for each in before if each.step.mould == missed.step.mould][-1]
    errors = [row for row in last.causes() if row[0] in ERRORS and abs(row[2]) >= SHOWN]
    listed = ", ".join(f"{cause} {error * 1e3:+.3f}" for cause, _, error in errors)
    what = f"{last.step.of[0].upper()}{last.step.of[1:]}"
    yield (
        f"{what} had been read at {last.read * 1e3:.3f} mm and "
        f"was {really * 1e3:.3f} mm: {listed}. The gate took it for {assumed * 1e3:.3f} mm."
    )
    yield ""


def _learned(proposals: Sequence[Proposal]) -> Iterator[str]:
    """What the program said before the first mould and after each."""
    chains = [proposals[0].before, *(each.after for each in proposals)]
    names = [item.name for item in chains[0].fit.chain.inputs]
    rows = [row for row in LEARNED if row in names]
    yield f"| after mould | readings | file at A, mm | unread | read | {' | '.join(rows)} |"
    yield "|---|---|---|---|---|" + "---|" * len(rows)
    for number, plan in enumerate(chains):
        fit, chain = plan.fit, plan.fit.chain
        cells = []
        for name in rows:
            row = chain.index(name)
            spread = float(chain.covariance[row, row]) ** 0.5
            told = show_spread(float(chain.mean[row]), spread, chain.inputs[row].unit, 3)
            cells.append(told)
        readings = proposals[number - 1].corrections.readings if number else 0
        yield (
            f"| {number} | {readings} | {fit.file_diameter * 1e3:.2f} | "
            f"{of_a_hundred(fit.forecast.unread)} | {of_a_hundred(fit.forecast.gated)} | "
            f"{' | '.join(cells)} |"
        )


def _parts(row: Row) -> str:
    """What the program judged of the parts by their readings, against what was felt."""
    fits = [part for part in row.parts if part.outcome == "fits"]
    count = dict.fromkeys(("fits", "cannot be told", "does not fit"), 0)
    for part in row.parts:
        count[part.verdict] += 1
    wrong = sum(
        (part.verdict, part.outcome) in (("fits", "reworked"), ("does not fit", "fits"))
        for part in row.parts
    )
    told = (
        "*Unread*, *read*: of 100 parts of the next mould that fit, laid up unread, and with the "
        "prepared mould read and mended. By its reading alone, with a guard band, the program "
        f"passes {count['fits']} of the {len(row.parts)} parts, fails {count['does not fit']} and "
        f"says of {count['cannot be told']} that they cannot be told. When tried, {len(fits)} "
        f"fitted; it had judged {wrong} wrongly."
    )
    return "\n".join(wrap(told, 100))
