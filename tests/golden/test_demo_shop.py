"""The demo shop's page is what the programme says, and every prediction stands behind its hash."""

from __future__ import annotations

import hashlib
import re

from tests.shops.programme import PAGE, page

FIXED = re.compile(r"Predicted: `([0-9a-f]{64})`  \n  `(\{.+\})`")


def test_the_page_is_what_the_programme_says() -> None:
    text = PAGE.read_text("utf-8")
    assert text == page(), "run scripts/demo-shop --write"
    fixed = FIXED.findall(text)
    assert len(fixed) == 12  # three moulds and nine parts
    assert all(hashlib.sha256(told.encode()).hexdigest() == digest for digest, told in fixed)
    missed = text.count("**OUTSIDE**")
    assert missed >= 1
    assert text.count("\nMissed: ") == missed
