"""What a function's docstring says of it: first sentence, formulas, validity, source."""

from __future__ import annotations

import inspect
import re
import sys
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

_SOURCE = re.compile(r"\bSources?\b[^:.]{0,30}: *(.*)")
_VALIDITY = re.compile(r"\bValidity: *(.*)")
_FORMULA = re.compile("[=≤≥]")
_SENTENCE = re.compile(r"(?<=\.)\s+")


@dataclass(frozen=True)
class Equation:
    """One function behind a result, in its own words."""

    by: str
    says: str
    formulas: tuple[str, ...]
    validity: str
    source: str

    @property
    def checkable(self) -> bool:
        """Whether a reader can check it: by a formula, a source, or an assumption called one."""
        return bool(self.formulas or self.source or "assum" in self.says + self.validity)


def equation_of(by: Callable[..., Any]) -> Equation:
    """Parse the docstring of ``by``; a source that it lacks is that of its module."""
    paragraphs, source, validity = _split(by.__doc__ or "")
    sentences = [text for paragraph in paragraphs for text in _SENTENCE.split(paragraph) if text]
    says, formula = _first(sentences[0] if sentences else "")
    formulas = [formula, *(text for text in sentences[1:] if _FORMULA.search(text))]
    name = f"{by.__module__}.{by.__qualname__}".removeprefix("mandrelwright.")
    return Equation(
        name,
        says,
        tuple(text.rstrip(".") for text in formulas if text),
        validity,
        source or _split(sys.modules[by.__module__].__doc__ or "")[1],
    )


def _first(sentence: str) -> tuple[str, str]:
    """A first sentence as words and, after its colon, formula."""
    words, _, formula = sentence.partition(": ")
    if _FORMULA.search(formula):
        return words, formula
    return sentence.rstrip("."), ""


def _split(docstring: str) -> tuple[list[str], str, str]:
    """Paragraphs on one line each, without examples; the source; the validity."""
    text = inspect.cleandoc(docstring).partition(">>>")[0].replace("``", "")
    paragraphs, source, validity = [], "", ""
    for block in text.split("\n\n"):
        paragraph = " ".join(block.split())
        if found := _SOURCE.search(paragraph):
            source, paragraph = found[1].rstrip("."), paragraph[: found.start()]
        if found := _VALIDITY.search(paragraph):
            validity, paragraph = found[1].rstrip(". "), paragraph[: found.start()]
        paragraphs.append(paragraph.strip())
    return paragraphs, source, validity
