"""Everything of a plan that has a name, from the records, the job, the library, the findings."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Callable, Iterator
from dataclasses import fields, is_dataclass, replace
from functools import partial
from typing import Any

from mandrelwright.job.listing import text_of
from mandrelwright.job.materials import Datum, Library, Words
from mandrelwright.job.properties import GROUPS
from mandrelwright.job.shelf import STRONG_BASES
from mandrelwright.job.sources import cite
from mandrelwright.plan import Plan
from mandrelwright.stages.aids import make_aids
from mandrelwright.stages.assembly import assemble
from mandrelwright.stages.chain import Chain
from mandrelwright.stages.chain_inputs import SCATTER, print_scatter, with_rings
from mandrelwright.stages.corrected import THIS_SHOP, with_corrections
from mandrelwright.stages.cure import follow_cure
from mandrelwright.stages.fit import FitResult, close_fits
from mandrelwright.stages.flight import fly
from mandrelwright.stages.joints import join
from mandrelwright.stages.layup import plan_layup
from mandrelwright.stages.mould import want_mould
from mandrelwright.stages.patterns import cut_patterns
from mandrelwright.stages.print import form_print
from mandrelwright.stages.radio import hear
from mandrelwright.stages.record import By, Origin, origins
from mandrelwright.stages.release import plan_release
from mandrelwright.stages.segments import cut_segments
from mandrelwright.stages.shape import FitPlace, draw_shape
from mandrelwright.stages.stack import lay_stack
from mandrelwright.stages.strength import judge_strength
from mandrelwright.stages.supplies import count_supplies
from mandrelwright.stages.surface import treat_surface
from mandrelwright.stages.wall import assess_wall
from mandrelwright.stages.whole import judge_whole
from mandrelwright.why.explanation import Shown
from mandrelwright.why.follows import FOLLOWS
from mandrelwright.why.node import Node
from mandrelwright.why.node import Words as Chosen
from mandrelwright.why.stated import job_nodes
from mandrelwright.why.values import View, label_of, show_number, show_value

VERBS: dict[str, By] = {
    "shape": draw_shape,
    "stack": lay_stack,
    "wall": assess_wall,
    "mould": want_mould,
    "surface": treat_surface,
    "cure": follow_cure,
    "fit": close_fits,
    "print": form_print,
    "segments": cut_segments,
    "aids": make_aids,
    "layup": plan_layup,
    "patterns": cut_patterns,
    "supplies": count_supplies,
    "release": plan_release,
    "assembly": assemble,
    "joints": join,
    "strength": judge_strength,
    "whole": judge_whole,
    "flight": fly,
    "radio": hear,
}
"""Each step's verb, whose docstring speaks for results that name no function of their own."""

PRINTED = ("shrink", "offset")  # what rings tell, each by way of the other
RELEASED = ("release.odds", "release.push", "release.glass_margin")
SURE = (*STRONG_BASES, "stated", "derived", THIS_SHOP)


def index(plan: Plan) -> dict[str, Node]:
    """Every name of a plan, results first, in the order of the steps."""
    view = View.of(plan)
    nodes = [_verdict(plan), *_finding_nodes(plan)]
    for step in fields(plan):
        record = getattr(plan, step.name)
        if is_dataclass(record):
            verb = VERBS.get(step.name)
            around = Origin("", by=(verb,) if verb else ())
            nodes += _fields(step.name, record, around, {}, view)
    nodes += [*_input_nodes(plan), *job_nodes(plan.job), *_material_nodes(plan.library)]
    return {node.name: node for node in nodes}


def _fields(prefix: str, record: Any, around: Origin, words: Chosen, view: View) -> Iterator[Node]:
    """The results of one record and all that is named within them."""
    for name, origin in origins(type(record)).items():
        whole = replace(
            origin,
            by=around.by if origin.by is None else origin.by,
            uses=around.uses if origin.uses is None else origin.uses,
        )
        spread = getattr(record, origin.spread) if origin.spread else None
        yield from _result(f"{prefix}.{name}", getattr(record, name), whole, words, view, spread)


def _result(
    name: str, value: Any, origin: Origin, words: Chosen, view: View, spread: float | None = None
) -> Iterator[Node]:
    """One result, then its parts."""
    inside = list(_within(name, value, origin, words, view))
    deeper = {part for node in inside for part in node.parts}
    if name.startswith("print.") and getattr(value, "ndim", 0) == 1:
        value = value[::-1]  # upright on its base, while places run from the tip
    yield Node(
        name,
        "result",
        origin.what,
        partial(show_value, value, origin.unit, spread, view),
        origin.by or (),
        origin.uses,
        words,
        tuple(node.name for node in inside if node.name not in deeper),
    )
    yield from inside


def _within(name: str, value: Any, origin: Origin, words: Chosen, view: View) -> Iterator[Node]:
    """The parts of a record, the rows of a list of records, or shares by input."""
    if is_dataclass(value) and not isinstance(value, Chain):
        yield from _fields(name, value, origin, words, view)
    elif isinstance(value, tuple) and value and is_dataclass(value[0]):
        for row, item in enumerate(value, 1):
            label = label_of(item, row)
            one = replace(
                origin,
                what=f"{origin.what}: {label}",
                uses=getattr(item, "uses", ()) or origin.uses,
            )
            yield from _result(f"{name}.{label}", item, one, _row_words(item, label, row), view)
    elif isinstance(value, tuple) and value and isinstance(value[0], tuple):
        for label, share in value:
            one = replace(
                origin,
                what=f"{origin.what}: {label}",
                uses=(f"input.{label}", *(origin.uses or ())),
            )
            yield from _result(f"{name}.{label}", share, one, words, view)


def _row_words(item: Any, label: str, row: int) -> Chosen:
    """Words that mean this row of a list, and this fit when it is one of fits."""
    here = {"row": (str(row),), "item": (label,)}
    if not isinstance(item, FitResult | FitPlace):
        return here
    if isinstance(item, FitPlace):
        return {**here, "name": (label,), "gap": (label,)}
    gap = () if item.kind == "flush" else (label,)
    return {**here, "name": (label,), "gap": gap, "coat": tuple(name for name, _ in item.coats)}


def _input_nodes(plan: Plan) -> Iterator[Node]:
    """The uncertain inputs of the chain as they stand after rings were measured."""
    chain = plan.fit.chain
    printed = [use for item in chain.inputs if item.name in PRINTED for use in item.uses]
    rings = ("job.printer.ring[*]", "job.shop.caliper", *SCATTER, *printed)
    for number, item in enumerate(chain.inputs):
        mean, spread = float(chain.mean[number]), math.sqrt(chain.covariance[number, number])
        learned = item.basis == THIS_SHOP
        ringed = not learned and not math.isclose(spread, item.spread, rel_tol=1e-9)
        yield Node(
            f"input.{item.name}",
            "input",
            _told(plan, item.name, learned, ringed),
            partial(_number, mean, spread, item.unit),
            _teller(item.name, learned, ringed),
            rings if ringed else item.uses,
            basis=item.basis,
            source="" if item.source == "job" else item.source,
            cited="" if item.source == "job" else cite(item.source),
            weak=item.basis not in SURE,
        )
    for item in plan.release.inputs if plan.release else ():
        yield Node(
            f"input.{item.name}",
            "input",
            "",
            partial(_number, item.mean, item.spread, item.unit),
            (),
            item.uses,
            basis=item.basis,
            source=item.source,
            cited=cite(item.source),
            weak=item.basis not in SURE,
        )


def _told(plan: Plan, name: str, learned: bool, ringed: bool) -> str:
    """What an input's number rests on besides its statement."""
    if learned and plan.corrections is not None:
        count = next(i.readings for i in plan.corrections.inputs if i.name == name)
        return f"after {count} readings of this shop's log"
    return "after the rings that were measured" if ringed else ""


def _teller(name: str, learned: bool, ringed: bool) -> tuple[By, ...]:
    """The function that gave an input its number."""
    if learned:
        return (with_corrections,)
    return (with_rings,) if ringed else (print_scatter,) if name == "scatter" else ()


def _number(value: float, spread: float, unit: str) -> Shown:
    return Shown(show_number(value, unit, spread), {"value": value, "spread": spread})


def _material_nodes(library: Library) -> Iterator[Node]:
    """Every number and list of words of the library."""
    for group in GROUPS:
        for name, entry in getattr(library, group).items():
            for key, datum in entry.items():
                what, show = (
                    GROUPS[group].properties[key].meaning,
                    partial(_datum, group, key, datum),
                )
                yield _material(f"{group}.{name}.{key}", datum, what, show, datum.weak)
            for key, words in entry.words.items():
                show, weak = partial(Shown, ", ".join(words.words)), words.basis not in SURE
                yield _material(f"{group}.{name}.{key}", words, "", show, weak)


def _datum(group: str, key: str, datum: Datum) -> Shown:
    return Shown(text_of(group, key, datum), {"value": datum.value, "spread": datum.spread})


def _material(
    path: str, item: Datum | Words, what: str, show: Callable[[], Shown], weak: bool
) -> Node:
    """One entry of the library; one that it has from another entry leads there."""
    return Node(
        f"materials.{path}",
        "material",
        what,
        show,
        uses=() if item.path == path else (f"materials.{item.path}",),
        place=item.where,
        basis=item.basis,
        source=item.source,
        cited=cite(item.source),
        weak=weak,
    )


def _finding_nodes(plan: Plan) -> Iterator[Node]:
    """Findings by their id; those of one id together."""
    told = defaultdict(list)
    for finding in plan.findings:
        told[finding.id].append(finding)
    for name, same in told.items():
        text = f"{same[0].level}: " + " ".join(finding.what for finding in same)
        do = "; ".join(dict.fromkeys(way for finding in same for way in finding.do))
        yield Node(
            f"finding.{name}",
            "finding",
            f"{same[0].why} Do: {do}." if do else same[0].why,
            partial(Shown, text),
            uses=FOLLOWS.get(name, (f"{same[0].step}.*",)),
        )


def _verdict(plan: Plan) -> Node:
    """The one sentence, from the stops that stand or from the forecast."""
    uses = [f"finding.{finding.id}" for finding in plan.stops]
    if not uses:
        uses = [f"fit.forecast.{when}" for when in ("unread", "ring", "gated")]
        uses += ["assembly.mass", "assembly.balance"]
    return Node(
        "verdict",
        "verdict",
        f"comes off the mould: {plan.verdict.comes_off}",
        partial(Shown, plan.verdict.sentence),
        uses=(*dict.fromkeys(uses), "mould.comes_off", *RELEASED, "job.accept[*]"),
    )
