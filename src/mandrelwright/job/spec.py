"""The job file as frozen, checked tables: attribute names are its keys, in the plural if rows."""

from __future__ import annotations

import re
from collections.abc import Mapping
from pathlib import Path
from typing import Annotated, Any, Literal

from pydantic import AfterValidator, Field, PrivateAttr, StringConstraints

from mandrelwright.job.assembly import Assembly
from mandrelwright.job.coupons import Coupons
from mandrelwright.job.curing import Stay
from mandrelwright.job.flights import Track
from mandrelwright.job.flying import Flight
from mandrelwright.job.layup import Cloth, Compaction, Layer, Position, Resin, Sleeve, Stated
from mandrelwright.job.sections import Bore, Fit, Flush, Section, Shoulder
from mandrelwright.job.tooling import Mould, Printer, Release, Treatment
from mandrelwright.job.values import (
    READS,
    Batch,
    BoxSize,
    Frequency,
    Humidity,
    InputError,
    Length,
    Name,
    Place,
    RoomSize,
    RoomTemperature,
    ScaleStep,
    Scatter,
    ShopTemperature,
    Table,
    default,
)

__all__ = [
    "Accept",
    "Antenna",
    "Assembly",
    "Bore",
    "Cloth",
    "Compaction",
    "Fit",
    "Flight",
    "Flush",
    "Job",
    "Layer",
    "Mould",
    "Part",
    "Position",
    "Printer",
    "Release",
    "Resin",
    "Section",
    "Shop",
    "Shoulder",
    "Sleeve",
    "Stated",
    "Stay",
    "Treatment",
    "job_schema",
]


class Part(Table):
    """What is made, and which of its surfaces the sections draw."""

    name: Name
    club: Name | None = None
    describes: Literal["outside", "inside"]


class Shop(Table):
    """The room, its instruments and habits."""

    temperature: ShopTemperature
    measured_at: RoomTemperature = default("20 degC", "reference of every diameter in this file")
    caliper: Scatter = default("0.02 mm", "standard uncertainty of one reading")
    paper: Literal["A4", "A3", "Letter"] = "A4"
    batch_most: Batch = default("150 g", "largest cup mixed at once")
    scale: ScaleStep = default("1 g", "smallest step of the scale that weighs the cups")
    people: Literal[1, 2] = 1
    room: RoomSize | None = Field(None, description="air of the room in which solvent is open")
    box: BoxSize | None = Field(None, description="air of the box in which the mould is smoothed")
    humidity: Humidity | None = Field(None, description="of the air, relative")


class Antenna(Table):
    """A radio behind the wall, and where it sits."""

    name: Name
    frequency: Frequency
    from_base: Place
    to_base: Length


def _finding_id(text: str) -> str:
    if not re.fullmatch(r"[a-z]+\.[a-z0-9-]+", text):
        raise InputError(
            "is not the id of a finding", 'copy it from the report, like "mould.undercut"'
        )
    return text


class Accept(Table):
    """A stop that the builder accepts, with the reason."""

    finding: Annotated[str, AfterValidator(_finding_id)]
    reason: Annotated[str, StringConstraints(strip_whitespace=True, min_length=5, max_length=500)]


class Materials(Table):
    """The builder's own material file."""

    file: Annotated[str, StringConstraints(min_length=1, max_length=200)]


class Job(Table):
    """One part as its builder states it."""

    schema_version: int = Field(alias="schema", ge=1, le=1, description="version of the format, 1")
    part: Part
    sections: tuple[Section, ...] = Field(alias="section", strict=False, min_length=1)
    fits: tuple[Fit, ...] = Field(alias="fit", strict=False, min_length=1)
    sleeves: tuple[Sleeve, ...] = Field((), alias="sleeve", strict=False)
    cloths: tuple[Cloth, ...] = Field((), alias="cloth", strict=False)
    layers: tuple[Layer, ...] = Field(alias="layer", strict=False, min_length=1)
    stated: Stated = default({})
    compaction: Compaction
    resin: Resin
    mould: Mould
    printer: Printer
    surface: tuple[Treatment, ...] = Field((), strict=False)
    release: Release
    shop: Shop
    schedule: tuple[Stay, ...] = Field((), strict=False)
    release_steps: tuple[Stay, ...] = Field((), strict=False)
    assembly: Assembly | None = None
    flight: Flight | None = None
    antennas: tuple[Antenna, ...] = Field((), alias="antenna", strict=False)
    accepted: tuple[Accept, ...] = Field((), alias="accept", strict=False)
    materials: Materials | None = None
    _path: Path = PrivateAttr(default=Path())
    _digest: str = PrivateAttr(default="")
    _coupons: Mapping[str, Coupons] = PrivateAttr(default_factory=dict)
    _track: Track | None = PrivateAttr(default=None)

    def model_post_init(self, context: Any) -> None:
        """Take path, digest and the tables beside it from whoever read the file."""
        if context is not None:
            self._path, self._digest = context["path"], context["digest"]
            self._coupons = context.get("coupons", {})
            self._track = context.get("track")

    @property
    def path(self) -> Path:
        """The file it was read from."""
        return self._path

    @property
    def digest(self) -> str:
        """SHA-256 of that file's bytes, in hexadecimal."""
        return self._digest

    @property
    def coupons(self) -> Mapping[str, Coupons]:
        """Every table of smoothed rings that the job names, by that name."""
        return self._coupons

    @property
    def track(self) -> Track | None:
        """The rows of the flight history that the job names."""
        return self._track

    @property
    def part_length(self) -> float:
        """Length of the full profile, to its virtual point: the sections' lengths added, m."""
        return sum(section.length.value for section in self.sections)

    def from_tip(self, from_base: float) -> float:
        """x from the tip of the full profile (m) of a place counted from the base (m)."""
        return self.part_length - from_base


def job_schema() -> dict[str, Any]:
    """JSON Schema (draft 2020-12) of the job file, for an editor."""
    schema = Job.model_json_schema(by_alias=True)
    _describe(schema)
    return {"$schema": "https://json-schema.org/draft/2020-12/schema", **schema}


def _describe(node: Any) -> None:
    """Join what a field means and what may be written; drop titles and nulls, unknown to TOML."""
    if isinstance(node, list):
        for item in node:
            _describe(item)
    elif isinstance(node, dict):
        for item in node.values():
            _describe(item)
        if isinstance(node.get("title"), str):
            del node["title"]
        if {"type": "null"} in node.get("anyOf", ()):
            taken = next(item for item in node.pop("anyOf") if item != {"type": "null"})
            del node["default"]
            taken = {**taken, "description": _joined(node, taken)}
            node.update({key: value for key, value in taken.items() if value})
        if READS in node:
            node["description"] = _joined(node, {"description": node.pop(READS)})


def _joined(*nodes: dict[str, Any]) -> str:
    return "; ".join(node["description"] for node in nodes if "description" in node)
