"""CSV and JSON of the log: the round trip is exact, a bad file changes nothing, none is doubled."""

from __future__ import annotations

import csv
import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from mandrelwright.job.records import STAGES
from mandrelwright.job.values import InputError
from mandrelwright.shop.entries import Entry, make
from mandrelwright.shop.exchange import ExchangeError, export_text, import_file
from mandrelwright.shop.log import open_log
from mandrelwright.shop.recall import history

HAND = """kind,name,job,plastic,mould,part,stage,mark,reads,what,took
mould,1,Plover nose,ASA,,,,,,,
tool,caliper,,,,,,,,,
reading,,,,1,,ready,A,98.31,,
reading,,,,1,,ready,A,98.31,,
part,1,,,1,,,,,,
reading,,,,1,1,part,A,3 7/8 in,,
time,,,,1,1,,,,lay-up,95 min
"""

words = st.text(st.characters(exclude_categories=["Cs"], exclude_characters="\0"), max_size=40)
wanted = words.filter(bool)
moments = st.datetimes().map(lambda moment: f"{moment.isoformat()}Z")
lengths = st.builds(
    "{}{}{}".format,
    st.decimals(1, 300, places=3),
    st.sampled_from(["", " mm", " in"]),
    st.sampled_from(["", "  "]),
)
singles = st.one_of(
    st.fixed_dictionaries({"kind": st.just("note"), "text": wanted, "by": words, "at": moments}),
    st.fixed_dictionaries(
        {
            "kind": st.just("reading"),
            "stage": st.sampled_from(STAGES),
            "mark": st.sampled_from("ABC"),
            "reads": lengths,
            "questioned": words,
            "repeat": st.integers(1, 99),
            "angle": st.one_of(st.just(""), st.integers(0, 359).map(str)),
        }
    ),
    st.fixed_dictionaries({"kind": st.just("event"), "what": wanted, "text": words,
                           "cost": st.floats(-1e6, 1e6)}),
    st.fixed_dictionaries(
        {
            "kind": st.just("mould"),
            "job": wanted,
            "name": st.uuids().map(str),
            "plastic": wanted,
            "facts": st.dictionaries(
                words, st.one_of(words, st.floats(allow_nan=False, allow_infinity=False))
            ),
        }
    ),
)  # fmt: skip


@pytest.fixture
def places(tmp_path: Path) -> Callable[[], str]:
    """Makes a new empty log each time it is called."""
    count = iter(range(10_000))
    return lambda: str(tmp_path / f"{next(count)}.sqlite")


@given(st.lists(singles, max_size=6), st.sampled_from([".csv", ".json"]))
@settings(
    max_examples=60, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
def test_out_and_in_and_out_again_is_the_same(
    places: Callable[[], str], tmp_path: Path, rows: list[dict[str, Any]], suffix: str
) -> None:
    entries = [make(**row) for row in rows]
    entries += [make("withdrawal", replaces=entries[0].id, because="odd")] if entries else []
    with open_log(places()) as log:
        log.append(entries)
        text = export_text([row.entry for row in log.entries()], suffix)
    file = tmp_path / f"out{suffix}"
    file.write_bytes(text.encode())
    with open_log(places()) as other:
        assert import_file(other, file) == (len(entries), 0)
        assert import_file(other, file) == (0, len(entries))
        assert [row.entry for row in other.entries()] == entries
        assert export_text([row.entry for row in other.entries()], suffix) == text


def test_both_databases_give_the_same_file(log_place: str, tmp_path: Path) -> None:
    file = hand(tmp_path)
    with open_log(log_place) as log, open_log(tmp_path / "other.sqlite") as other:
        import_file(log, file, "Plover nose")
        out = tmp_path / "log.json"
        out.write_text(export_text([row.entry for row in log.entries()], ".json"), "utf-8")
        import_file(other, out)
        assert [row.entry for row in other.entries()] == [row.entry for row in log.entries()]


def test_a_file_by_hand_names_moulds_and_doubles_nothing(log_place: str, tmp_path: Path) -> None:
    file = hand(tmp_path)
    with open_log(log_place) as log:
        assert import_file(log, file, "Plover nose") == (7, 0)
        assert import_file(log, file, "Plover nose") == (0, 7)
        told = history(log).moulds[0]
        assert [reading.value for reading in told.readings] == [0.09831, 0.09831]  # two were typed
        assert told.parts[0].readings[0].value == pytest.approx(0.098425)
        assert told.parts[0].hours == pytest.approx(5700.0)


def test_reading_a_file_leaves_no_setting_of_the_process_changed(tmp_path: Path) -> None:
    before = csv.field_size_limit()
    with open_log(str(tmp_path / "log.sqlite")) as log:
        import_file(log, hand(tmp_path), "Plover nose")
    assert csv.field_size_limit() == before


def test_a_spreadsheet_with_semicolons_and_a_byte_order_mark(tmp_path: Path) -> None:
    file = tmp_path / "hand.csv"
    file.write_bytes(b"\xef\xbb\xbf" + HAND.replace(",", ";").encode())
    with open_log(tmp_path / "log.sqlite") as log:
        assert import_file(log, file, "Plover nose") == (7, 0)


@pytest.mark.parametrize(
    ("old", "new", "says"),
    [
        ("3 7/8 in", "98,31 mm", "row 7: has more cells"),
        ("3 7/8 in", '"98,31 mm"', "row 7, column reads: reads \"98,31 mm\" has a comma"),
        ("reading,,,,1,1,part", "reading,,,,1,2,part", 'row 7, column part: part "2" is not in'),
        ("reading,,,,1,,ready", "reading,,,,9,,ready", 'row 4, column mould: mould "9" is not in'),
        (",ready,A", ",wet,A", "row 4, column stage"),
        ("time,,", "poem,,", "row 8, column kind"),
        ("kind,name", "kind,nom", 'column "nom" is not known'),
        ("95 min", "95", "row 8, column took"),
        ("95 min", "95 min,more", "row 8: has more cells"),
        ("part,1", "part,", "row 6, column name"),
        ("tool,caliper", "mould,1", "row 3, column plastic"),
        ("tool,caliper,,", "mould,1,Plover nose,ASA", 'row 3, column name: a mould "1" stands'),
    ],
)  # fmt: skip
def test_a_bad_file_changes_nothing_and_names_row_and_column(
    tmp_path: Path, old: str, new: str, says: str
) -> None:
    file = hand(tmp_path, old, new)
    with open_log(tmp_path / "log.sqlite") as log:
        log.add_note("before")
        with pytest.raises(InputError) as refused:
            import_file(log, file, "Plover nose")
        assert says in str(refused.value)
        assert len(log.entries()) == 1


def test_every_fault_is_told_at_once(tmp_path: Path) -> None:
    file = hand(tmp_path, "98.31", "98.31 kg")
    with open_log(tmp_path / "log.sqlite") as log, pytest.raises(ExchangeError) as refused:
        import_file(log, file, "Plover nose")
    assert [fault[:21] for fault in refused.value.faults] == [
        "row 4, column reads: ", "row 5, column reads: ",
    ]  # fmt: skip


def test_an_si_value_that_disagrees_is_a_fault(tmp_path: Path) -> None:
    with open_log(tmp_path / "log.sqlite") as log:
        entry = reading()
        text = export_text([entry], ".json")
        data = json.loads(text)
        data["entries"][0]["reads"] = "98.13 mm"
        file = tmp_path / "edited.json"
        file.write_text(json.dumps(data))
        with pytest.raises(ExchangeError, match=r"entry 1, column reads_si: .* disagrees"):
            import_file(log, file)


@pytest.mark.parametrize(
    ("name", "content"),
    [
        ("a.csv", b""),
        ("a.csv", b"kind,text\r\nnote,\"unclosed"),
        ("a.csv", b"\xff\xfe"),
        ("a.json", b"{"),
        ("a.json", b"[]"),
        ("a.json", b'{"format": "mandrelwright log 1", "entries": [1]}'),
        ("a.json", b"[" * 100_000),
        ("a.xlsx", b""),
        ("nowhere/a.csv", None),
    ],
)  # fmt: skip
def test_junk_is_refused(tmp_path: Path, name: str, content: bytes | None) -> None:
    file = tmp_path / name
    if content is not None:
        file.write_bytes(content)
    with open_log(tmp_path / "log.sqlite") as log, pytest.raises(InputError):
        import_file(log, file)


def hand(folder: Path, old: str = "", new: str = "") -> Path:
    """A file as a person would type it, with one thing in it changed."""
    file = folder / "hand.csv"
    file.write_text(HAND.replace(old, new) if old else HAND, "utf-8")
    return file


def reading() -> Entry:
    return make("reading", stage="ready", mark="A", reads="98.31 mm")
