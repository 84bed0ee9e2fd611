"""What the material library is made of: numbers with their origin, on shelves with names."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import TypeVar

STRONG_BASES = ("measured", "datasheet", "paper")

T = TypeVar("T")


class MaterialError(ValueError):
    """A material file or name that cannot be used: file, field, reason and remedy."""

    def __init__(self, file: str, field: str, reason: str, remedy: str) -> None:
        super().__init__(file, field, reason, remedy)
        self.file = file
        self.field = field
        self.reason = reason
        self.remedy = remedy

    def __str__(self) -> str:
        return f"{self.file}: {self.field}: {self.reason}; {self.remedy}"


class UnknownMaterialError(MaterialError, KeyError):
    """A name that the library does not hold; the remedy offers the nearest ones."""


@dataclass(frozen=True, slots=True)
class Datum:
    """One number in SI (kelvin for temperatures) and where it comes from.

    ``spread`` is one standard deviation, ``nan`` where nobody knows it; ``basis`` is paper,
    secondary, memory, derived, assumed, measured or datasheet; ``path`` is its place in the
    library, "plastics.ASA.expansion".
    """

    value: float
    spread: float
    basis: str
    source: str
    where: str
    path: str

    @property
    def weak(self) -> bool:
        """True unless the number was measured or read at its origin, and its spread is known."""
        return self.basis not in STRONG_BASES or not math.isfinite(self.spread)


@dataclass(frozen=True, slots=True)
class Words:
    """A list of words, such as the solvents that smooth a plastic, and where it comes from."""

    words: tuple[str, ...]
    basis: str
    source: str
    where: str
    path: str


class Shelf(Mapping[str, T]):
    """A read-only mapping whose missing keys answer with the nearest known ones."""

    def __init__(self, path: str, items: Mapping[str, T]) -> None:
        self.path = path
        self._items = dict(items)

    def __getitem__(self, name: str) -> T:
        try:
            return self._items[name]
        except KeyError:
            raise UnknownMaterialError(
                "material library", self.path, f'"{name}" is not known', nearest(name, self._items)
            ) from None

    def __contains__(self, name: object) -> bool:
        return name in self._items

    def __iter__(self) -> Iterator[str]:
        return iter(self._items)

    def __len__(self) -> int:
        return len(self._items)


class Entry(Shelf[Datum]):
    """One material: ``entry["density"]`` is a Datum, ``entry.words["smooths_with"]`` are Words.

    ``like`` names the entries it was made from, nearest first.
    """

    def __init__(
        self,
        path: str,
        data: Mapping[str, Datum],
        words: Mapping[str, Words],
        like: tuple[str, ...],
    ) -> None:
        super().__init__(path, data)
        self.words = Shelf(path, words)
        self.like = like


def nearest(name: str, known: Mapping[str, object]) -> str:
    """A remedy that offers the known names closest to ``name``: same words first, then spelling.

    >>> nearest("carbon", {"E-glass": 0, "carbon 3k": 0})
    'did you mean "carbon 3k"?'
    """
    from difflib import get_close_matches  # only a wrong name pays for this import

    folded = name.casefold()
    by_case = {key.casefold(): key for key in known}
    same = [key for case, key in by_case.items() if folded and folded in case]
    close = [by_case[case] for case in get_close_matches(folded, by_case, n=3, cutoff=0.5)]
    offered = list(dict.fromkeys(same + close))[:3] or list(known)
    lead, end = ("did you mean", "?") if same or close else ("known are", "")
    return f"{lead} " + " or ".join(f'"{key}"' for key in offered) + end
