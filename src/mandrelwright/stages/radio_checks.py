"""Whether the antennas are heard: walls that shut in or weaken, coats, metal, walls too near."""

from __future__ import annotations

import math

from mandrelwright.findings import radio as say
from mandrelwright.findings.finding import Finding
from mandrelwright.job.materials import Library
from mandrelwright.stages.assembly import METALS, Assembly
from mandrelwright.stages.radio import Heard, Radio


def check_radio(radio: Radio, assembly: Assembly, library: Library) -> list[Finding]:
    """Findings of every antenna; losses at the worst place and slant."""
    practice = library.practice["radio"]
    found = []
    for one in radio.antennas:
        place = (one.start, one.stop)
        if one.worst >= practice["shut_in"].value:
            swap = _swap(radio, assembly) if one.conductors else ""
            found.append(say.shut_in(one.name, one.loss, one.least, one.conductors, swap, place))
        elif one.worst >= practice["weak"].value:
            found.append(say.weak(one.name, one.worst, one.loss, place))
    return found + _beside(radio, assembly) + _near(radio, library)


def _swap(radio: Radio, assembly: Assembly) -> str:
    """What to lay instead, and what it costs."""
    swap = radio.swap
    if swap is None:
        return ""
    losses = ", ".join(f"{loss:.2g} dB of {name}" for name, loss in swap.loss)
    moved = swap.balance - assembly.balance
    gained = swap.mass - assembly.mass
    reserve = (swap.reserve_now, swap.reserve)
    return say.swap_for(swap.layers, swap.fibre, gained, moved, losses, reserve)


def _beside(radio: Radio, assembly: Assembly) -> list[Finding]:
    """Metal in coats and items along the antennas, and losses that nobody can tell."""
    found = []
    painted = [one for one in radio.antennas if one.metallic]
    if painted:
        coats = list(dict.fromkeys(coat for one in painted for coat in one.metallic))
        found.append(say.metal_flakes(coats, [one.name for one in painted]))
    for item in assembly.items:
        low, high = item.x - 0.5 * item.length, item.x + 0.5 * item.length
        for one in radio.antennas:
            if item.material in METALS and low <= one.stop and high >= one.start:
                place = (max(low, one.start), min(high, one.stop))
                found.append(say.metal_beside(item.name, item.material, one.name, place))
    unknown = [one.name for one in radio.antennas if math.isnan(one.loss)]
    return found + ([say.not_known(unknown)] if unknown else [])


def _near(radio: Radio, library: Library) -> list[Finding]:
    """Antennas that cannot be out of the wall's reach, told by the one that is nearest."""
    near: list[Heard] = [one for one in radio.antennas if one.near_field > one.wall_distance]
    if not near:
        return []
    worst = max(near, key=lambda one: one.near_field / one.wall_distance)
    share = library.practice["radio"]["detuning"].value
    names = [one.name for one in near]
    reach = (worst.near_field, worst.wall_distance)
    return [say.near_wall(names, worst.frequency, *reach, share)]
