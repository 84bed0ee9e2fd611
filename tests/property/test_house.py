"""Rules of the house that a linter does not know."""

from __future__ import annotations

import ast
import os
import re
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
LONGEST_FILE = 400  # lines; lock and data files aside
TEXT = {".py", ".md", ".toml", ".lock", ".html", ".bib", ".txt", ".css", ".svg", ".sh", ""}
COMMANDS = ["sh scripts/demo", "sh scripts/test"]
# Written so that this file does not match itself.
INDEX_HOST = re.compile(r"(py[p]i|pythonhoste[d]|npmj[s]|debia[n])\.(org|com|io)", re.I)
OUTSIDE_PATH = re.compile(r"(?<![\w.])(/wor[k]/|/hom[e]/|/roo[t]/|\.\./share[d])")
VAGUE = {"utils", "helpers", "common"}


def ours(*suffixes: str) -> list[Path]:
    """Files of the tree with one of these suffixes, without environments, caches and output."""
    found = []
    for folder, names, files in os.walk(ROOT):
        at_root = Path(folder) == ROOT
        names[:] = [name for name in names if _is_ours(name) and not (at_root and name == "out")]
        named = [name for name in files if name != ".git"]  # a linked work tree has a file so named
        found += [Path(folder, name) for name in named if Path(name).suffix in suffixes]
    return sorted(found)


def _is_ours(folder: str) -> bool:
    if folder.startswith("."):
        return folder == ".ci"
    return folder not in {"build", "__pycache__", "node_modules", "copied"} and not folder.endswith(
        ".egg-info"
    )


def name_of(path: Path) -> str:
    return str(path.relative_to(ROOT))


def test_readme_says_the_job_and_then_exactly_two_commands() -> None:
    text = (ROOT / "README.md").read_text("utf-8")
    title, job, commands = text.split("\n\n")[:3]
    assert title.startswith("# ")
    assert len(job.splitlines()) == 1
    assert [line.strip() for line in commands.splitlines()] == COMMANDS
    head = text.partition("\n## ")[0]
    assert re.findall(r"^    (.+)$", head, re.M) == COMMANDS


def test_the_python_of_the_readme_runs() -> None:
    code = (ROOT / "README.md").read_text("utf-8").partition("```python\n")[2].partition("```")[0]
    done = subprocess.run(
        [sys.executable, "-W", "error", "-c", code],
        cwd=ROOT,
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0, done.stderr
    assert done.stdout.startswith(("Can be made", "Cannot be made"))


def test_every_page_can_be_reached_from_the_index() -> None:
    index = (ROOT / "docs" / "index.md").read_text("utf-8")
    pages = [page.name for page in (ROOT / "docs").glob("*.md") if page.name != "index.md"]
    assert [name for name in pages if f"({name})" not in index] == []


def test_files_are_short_and_their_names_say_what_they_hold() -> None:
    assert [name_of(path) for path in ours(".py") if path.stem in VAGUE] == []
    lines = {name_of(path): len(path.read_text("utf-8").splitlines()) for path in ours(".py", "")}
    assert {name: count for name, count in lines.items() if count > LONGEST_FILE} == {}


def test_whatever_is_public_has_a_docstring() -> None:
    bare = [name for path in (ROOT / "src").rglob("*.py") for name in _without_docstring(path)]
    assert bare == []


def _without_docstring(path: Path) -> Iterator[str]:
    tree = ast.parse(path.read_text("utf-8"))
    if ast.get_docstring(tree) is None:
        yield name_of(path)
    classes = [node for node in tree.body if isinstance(node, ast.ClassDef)]
    for body in (tree.body, *(node.body for node in classes)):
        for node in body:
            if not isinstance(node, ast.FunctionDef | ast.ClassDef):
                continue
            if not node.name.startswith("_") and ast.get_docstring(node) is None:
                yield f"{name_of(path)}: {node.name}"


def test_no_file_names_a_package_index_or_a_folder_outside() -> None:
    texts = {name_of(path): path.read_text("utf-8", errors="replace") for path in ours(*TEXT)}
    assert [name for name, text in texts.items() if INDEX_HOST.search(text)] == []
    assert [name for name, text in texts.items() if OUTSIDE_PATH.search(text)] == []


def test_scripts_are_executable_and_posix() -> None:
    for path in [*(ROOT / "scripts").iterdir(), ROOT / ".ci" / "run"]:
        assert path.read_text("utf-8").startswith("#!/bin/sh\n")
        assert os.access(path, os.X_OK)
        subprocess.run(["sh", "-n", str(path)], check=True)


def test_generated_pages_are_up_to_date() -> None:
    command = [sys.executable, str(ROOT / "docs" / "generate.py"), "--check"]
    done = subprocess.run(command, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr


def test_links_between_pages_lead_somewhere() -> None:
    targets = [
        (page, target)
        for page in ours(".md")
        for target in re.findall(r"\]\(([^)#:]+)(?:#[^)]*)?\)", page.read_text("utf-8"))
    ]
    broken = [(name_of(p), target) for p, target in targets if not (p.parent / target).exists()]
    assert broken == []
