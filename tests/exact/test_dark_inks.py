"""Every ink of the drawings has a counterpart on dark paper."""

from __future__ import annotations

import re
from pathlib import Path

from mandrelwright.out.frame import ON_LIGHT, SLEEVES

SOURCE = Path("src/mandrelwright")
OWN_TONE = {ON_LIGHT, "#ffffff", *(light for _, light, _ in SLEEVES)}  # of layers, dark or not


def test_no_ink_is_lost_on_dark_paper() -> None:
    style = (SOURCE / "bench" / "static" / "bench.css").read_text("utf-8")
    files = [*sorted((SOURCE / "out").glob("*.py")), SOURCE / "shop" / "chart.py"]
    inks = {
        ink for path in files for ink in re.findall(r'"(#[0-9a-f]{6})"', path.read_text("utf-8"))
    }
    assert len(inks) > 12
    lost = [ink for ink in sorted(inks - OWN_TONE) if f'="{ink}"]' not in style]
    assert lost == []
