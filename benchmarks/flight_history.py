"""A flight history of a million rows, read and searched, side by side with numpy.loadtxt.

Ratios are of processor time: reading into a track in order, with what loadtxt takes to parse the
same bytes; and the search for every peak of the flight.
"""

from __future__ import annotations

import tempfile
from collections.abc import Callable
from pathlib import Path
from time import process_time

import numpy as np

from mandrelwright.job.flights import read_track
from mandrelwright.job.read import library_of, read_job
from mandrelwright.plan import make_plan
from mandrelwright.stages.flight import fly

ROWS = 1_000_000
JOB = Path(__file__).resolve().parent.parent / "examples" / "plover-nose.toml"
HISTORY = """
[flight.history]
file = "flight.csv"
time = { column = "t", unit = "s" }
speed = { column = "v", unit = "m/s" }
altitude = { column = "h", unit = "m" }
acceleration = { column = "a", unit = "m/s^2" }
angle_of_attack = { column = "alpha", unit = "deg" }

[[antenna]]
name = "position"
"""


def main() -> None:
    """Write the table, read it twice, plan with it."""
    with tempfile.TemporaryDirectory() as folder:
        table, path = Path(folder, "flight.csv"), Path(folder, "job.toml")
        t = np.linspace(0.0, 30.0, ROWS)
        v = 300.0 * np.exp(-(((t - 5.0) / 4.0) ** 2))
        columns = (t, v, np.cumsum(v) * 30.0 / ROWS, np.gradient(v, t), 3.0 + np.sin(t))
        formats = "%.6f,%.3f,%.2f,%.3f,%.3f"
        head = "t,v,h,a,alpha"
        np.savetxt(table, np.column_stack(columns), fmt=formats, header=head, comments="")
        text = JOB.read_text("utf-8").replace('top_speed = "260 m/s"\n', "")
        text = text.replace('\n[[antenna]]\nname = "position"\n', HISTORY, 1)
        path.write_text(text, "utf-8")
        job = read_job(path)
        assert job.flight is not None
        history = job.flight.history
        assert history is not None
        parsed = took(lambda: np.loadtxt(table, delimiter=",", skiprows=1))
        read = took(lambda: read_track(table, history))
        library = library_of(job)
        plan = make_plan(job, library)
        rest = (plan.shape, plan.stack, plan.cure, plan.assembly, library)
        searched = took(lambda: fly(job, *rest))
        print(f"{table.stat().st_size / 1e6:.0f} MB, {ROWS} rows")
        print(f"numpy.loadtxt {parsed:.2f} s, read in order {read:.2f} s ({read / parsed:.2f})")
        print(f"peaks, loads and heat {searched:.2f} s ({searched / parsed:.2f})")


def took(work: Callable[[], object]) -> float:
    """Processor time of the quickest of three runs, s."""
    times = []
    for _ in range(3):
        start = process_time()
        work()
        times.append(process_time() - start)
    return min(times)


if __name__ == "__main__":
    main()
