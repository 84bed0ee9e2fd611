"""The same wall of another fibre: as thick and at the same angles, layer by layer."""

from __future__ import annotations

from dataclasses import replace

from mandrelwright.job.materials import Library
from mandrelwright.stages.layers import Layer
from mandrelwright.stages.stack import Stack
from mandrelwright.stages.textiles import Sleeve


def swapped(stack: Stack, numbers: frozenset[int], fibre: str, library: Library) -> Stack:
    """The stack with the layers of these numbers in another fibre of equal volume.

    Tows or cloth weigh ρ_new/ρ_old of what they did, so c = N·T/(2π ρ V_f) and with it every
    surface, thickness and angle stay.  Their locks stay too: a tow keeps its width.
    """
    layers = [
        _of(layer, fibre, library) if layer.number in numbers else layer for layer in stack.layers
    ]
    return replace(stack, layers=tuple(layers))


def _of(layer: Layer, fibre: str, library: Library) -> Layer:
    """One layer in another fibre."""
    was, now = (library.fibres[name]["density"].value for name in (layer.textile.fibre, fibre))
    textile, ratio = layer.textile, now / was
    if isinstance(textile, Sleeve):
        tow, doubt = textile.tow * ratio, textile.tow_spread * ratio
        return replace(layer, textile=replace(textile, fibre=fibre, tow=tow, tow_spread=doubt))
    return replace(layer, textile=replace(textile, fibre=fibre, areal=textile.areal * ratio))
