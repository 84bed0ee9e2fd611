"""What stands for what a job leaves out is told, and so is the builder's own library."""

from pathlib import Path

from mandrelwright.findings import Level
from mandrelwright.job.read import library_of, read_job
from mandrelwright.job.remarks import remarks

GOOD = (Path(__file__).parents[1] / "faults" / "job.toml").read_text(encoding="utf-8")
OWN = """
[plastics.ASA.density]
value = "1.08 g/cm^3"
spread = "unknown"
basis = "measured"
source = "scale"
where = "a printed cube"
"""


def told(path: Path) -> dict[str, str]:
    """The sentences of a job's remarks by id."""
    job = read_job(path)
    found = remarks(job, library_of(job))
    assert all(finding.level is Level.NOTE and finding.step == "job" for finding in found)
    return {finding.id: finding.what for finding in found}


def test_defaults_and_library_values_are_told(tmp_path: Path) -> None:
    left_out = (
        'blend = "20 mm"\n',
        'core = { walls = 4, infill = "15 %" }\n',
        'beyond_trim = { tip = "25 mm", base = "15 mm" }\n',
        'narrowest_tow = "1.9 mm +- 0.2 mm"\n',
    )
    content = GOOD
    for line in left_out:
        assert line in content
        content = content.replace(line, "")
    path = tmp_path / "job.toml"
    path.write_text(content)
    notes = told(path)
    assert "section[2].blend = 20 mm" in notes["job.defaults-used"]
    assert "section[1].blend" not in notes["job.defaults-used"]
    assert "mould.core = walls 4, infill 15 %" in notes["job.defaults-used"]
    assert "mould.beyond_trim.tip = 25 mm" in notes["job.defaults-used"]
    assert "printer.shrink" in notes["job.library-values"]
    assert "release.film" not in notes["job.library-values"]
    assert "big glass" in notes["job.tow-width-from-library"]
    assert "small glass" not in notes["job.tow-width-from-library"]
    assert "job.own-library" not in notes


def test_the_builders_own_library_is_told(tmp_path: Path) -> None:
    (tmp_path / "ours.toml").write_text(OWN)
    path = tmp_path / "job.toml"
    path.write_text(GOOD + '[materials]\nfile = "ours.toml"\n')
    assert "ours.toml" in told(path)["job.own-library"]
    assert "ASA" in told(path)["job.own-library"]
