"""Walk from a name to what it follows from, down to the job and the library."""

from __future__ import annotations

import itertools
import re
from collections.abc import Iterator

from mandrelwright.job.shelf import nearest
from mandrelwright.job.values import InputError
from mandrelwright.plan import Plan
from mandrelwright.why.docstrings import equation_of
from mandrelwright.why.explanation import Explanation
from mandrelwright.why.index import index
from mandrelwright.why.node import Node, Words

_WORD = re.compile(r"\{(\w+)\}")


class UnknownNameError(InputError):
    """A name that a plan does not hold; the remedy offers the nearest ones."""


def names(plan: Plan) -> list[str]:
    """Everything that can be asked of a plan."""
    return list(index(plan))


def explain(plan: Plan, name: str) -> Explanation:
    """What a name is, its value and equations, and what it follows from, all the way down.

    Raises UnknownNameError when the plan holds no such name.
    """
    walk = Walk(plan)
    if name not in walk.nodes:
        raise UnknownNameError(f'"{name}" is no name of this plan', _remedy(name, walk.nodes))
    return walk.told(name, set())


def _remedy(name: str, known: dict[str, Node]) -> str:
    offer = nearest(name, dict.fromkeys(sorted(known, key=len)))
    if offer.startswith("did you mean"):
        return offer
    begins = sorted({key.partition(".")[0] for key in known})
    return f"names begin with {', '.join(begins)}; ask without a name to list them all"


class Walk:
    """The names of a plan, and how one leads to others."""

    def __init__(self, plan: Plan) -> None:
        self.nodes = index(plan)
        self.words = plan_words(plan)

    def told(self, name: str, before: set[str]) -> Explanation:
        """The explanation of a name; names told before are not told again in full."""
        node = self.nodes[name]
        repeated = name in before
        before.add(name)
        inputs = () if repeated else tuple(self.told(item, before) for item in self.inputs(node))
        return Explanation(
            name,
            node.kind,
            node.what,
            node.show(),
            () if repeated else tuple(equation_of(by) for by in node.by),
            node.place,
            node.basis,
            node.source,
            node.cited,
            node.weak,
            repeated and bool(node.uses or node.parts),
            inputs,
        )

    def inputs(self, node: Node) -> list[str]:
        """Names that a node follows from, each once."""
        if node.uses is None:
            return list(node.parts)
        found = (name for use in node.uses for name in self.resolved(use, node.words))
        return list(dict.fromkeys(found))

    def resolved(self, use: str, words: Words) -> list[str]:
        """The names that one entry of ``uses`` means; empty when the job has none of them."""
        if use in self.nodes:
            return [use]
        found: list[str] = []
        for alternative in use.split(" | "):
            found = [
                name
                for pattern in self._filled(alternative, words)
                for name in self._matching(pattern)
            ]
            if any(self.nodes[name].stated for name in found):
                break
        return found

    def _filled(self, pattern: str, words: Words) -> Iterator[str]:
        """The pattern with its words in braces put in, once for every choice."""
        keys = list(dict.fromkeys(_WORD.findall(pattern)))
        choices = ({**self.words, **words}[key] for key in keys)
        for chosen in itertools.product(*choices):
            filled = pattern
            for key, word in zip(keys, chosen, strict=True):
                filled = filled.replace(f"{{{key}}}", word)
            yield filled

    def _matching(self, pattern: str) -> list[str]:
        """Names that fit a pattern in which * stands for anything up to the next dot."""
        if "*" not in pattern:
            return [pattern] if pattern in self.nodes else []
        taken = re.compile("[^.]*".join(map(re.escape, pattern.split("*"))))
        return [name for name in self.nodes if taken.fullmatch(name)]


def plan_words(plan: Plan) -> Words:
    """What the words in braces mean: the materials, sleeves and fits that this job uses."""
    job, chain, layers = plan.job, plan.fit.chain, plan.stack.layers
    used = {layer.textile.name for layer in layers}
    sleeves = {str(row): item for row, item in enumerate(job.sleeves, 1) if item.name in used}
    unmeasured = {
        layer.textile.fibre
        for layer in layers
        if any(s.name == layer.textile.name and not s.narrowest_tow for s in job.sleeves)
    }
    lead = plan.shape.lead
    return {
        "plastic": (job.mould.plastic,),
        "resin": (job.resin.name,),
        "release": (job.release.system,),
        "compaction": (job.compaction.method,),
        "fibre": tuple(sorted({layer.textile.fibre for layer in layers})),
        "sleeve": tuple(sleeves),
        "shelf": tuple(item.library for item in sleeves.values() if item.library),
        "tow": tuple(_tows(plan, unmeasured)),
        "lead": (str(1 + plan.shape.fits.index(lead)),),
        "name": (lead.name,),
        "gap": () if lead.fit.kind == "flush" else (lead.name,),
        "treatment": chain.treatments,
        "film": chain.films,
        "coat": chain.lead.coats,
    }


def _tows(plan: Plan, fibres: set[str]) -> Iterator[str]:
    """Tows of the library whose width stands for that of these fibres."""
    like = {name for fibre in fibres for name in (fibre, *plan.library.fibres[fibre].like)}
    for name, tow in plan.library.tows.items():
        if "narrowest_width" in tow and like & set(tow.words["fibres"].words):
            yield name
