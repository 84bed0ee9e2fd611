"""What the bench refuses: hosts, origins, sizes, names, codes. Nothing changes, nothing leaks."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import httpx
import pytest

from mandrelwright.bench.access import LASTS, TRIES, WINDOW, Access, TooManyTriesError
from mandrelwright.bench.api import routes as api_routes
from mandrelwright.bench.builds import Builds
from mandrelwright.bench.folder import ChangedOnDiskError, JobFolder, NoSuchJobError, digest_of
from mandrelwright.bench.guard import MOST_BYTES, Guard, hosts_of
from tests.apart import apart

NOSE = Path("examples/plover-nose.toml").read_text("utf-8")
HOST = "127.0.0.1:8410"
OURS = {"host": HOST, "origin": f"http://{HOST}", "content-type": "application/json"}


class NoWorkers:
    """Stands for the processes; whoever asks them has got past the guard."""

    async def run(self, task: Any, *arguments: Any) -> Any:
        raise AssertionError("a refused request reached a worker")

    newest = run


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    inside = tmp_path / "jobs"
    inside.mkdir()
    (inside / "nose.toml").write_text(NOSE, "utf-8")
    (inside / "own.toml").write_text('[fibres."x"]\n', "utf-8")
    (tmp_path / "secret.toml").write_text(NOSE, "utf-8")
    (inside / "link.toml").symlink_to(tmp_path / "secret.toml")
    return inside


@pytest.fixture
def bench(folder: Path) -> Iterator[Callable[..., httpx.Response]]:
    from fastapi import FastAPI

    app = FastAPI()
    builds = Builds()
    app.include_router(api_routes(JobFolder(folder), NoWorkers(), builds))  # type: ignore[arg-type]
    guarded = Guard(app, hosts_of("127.0.0.1", 8410), Access())

    def ask(method: str, path: str, **rest: Any) -> httpx.Response:
        async def once() -> httpx.Response:
            transport = httpx.ASGITransport(app=guarded)
            async with httpx.AsyncClient(transport=transport, base_url=f"http://{HOST}") as client:
                return await client.request(method, path, **rest)

        return apart(once)

    yield ask
    builds.stop()


@pytest.mark.parametrize("host", ["evil.example", "127.0.0.1", "127.0.0.1:80", "", "localhost"])
def test_another_host_is_refused(bench: Callable[..., httpx.Response], host: str) -> None:
    assert bench("GET", "/api/jobs", headers={"host": host}).status_code == 421


@pytest.mark.parametrize("origin", ["http://evil.example", "null", f"https://{HOST}", ""])
def test_another_origin_changes_nothing(
    bench: Callable[..., httpx.Response], folder: Path, origin: str
) -> None:
    body = {"job": "nose.toml", "text": "x", "loaded": digest_of(NOSE)}
    answer = bench("POST", "/api/save", headers={**OURS, "origin": origin}, json=body)
    assert answer.status_code == 403
    assert (folder / "nose.toml").read_text("utf-8") == NOSE


def test_a_form_of_another_site_is_refused(bench: Callable[..., httpx.Response]) -> None:
    headers = {**OURS, "content-type": "application/x-www-form-urlencoded"}
    assert bench("POST", "/api/save", headers=headers, content="a=b").status_code == 415
    headers = {"host": HOST, "sec-fetch-site": "cross-site"}
    assert bench("GET", "/api/job/nose.toml", headers=headers).status_code == 403


def test_what_is_too_large_is_refused_whether_or_not_it_says_so(
    bench: Callable[..., httpx.Response],
) -> None:
    large = b" " * (MOST_BYTES + 1)
    assert bench("POST", "/api/save", headers=OURS, content=large).status_code == 413

    async def pieces() -> Any:
        for _ in range(MOST_BYTES // 1000 + 2):
            yield b" " * 1000

    assert bench("POST", "/api/save", headers=OURS, content=pieces()).status_code == 413


@pytest.mark.parametrize(
    "name",
    ["secret.toml", "..%2fsecret.toml", "%2e%2e/secret.toml", "link.toml", "own.toml", "x.txt",
     ".toml", "nose.toml%00", "nose", "a" * 80 + ".toml", "C:%5cx.toml"],
)  # fmt: skip
def test_no_name_leads_out_of_the_folder(bench: Callable[..., httpx.Response], name: str) -> None:
    assert bench("GET", f"/api/job/{name}", headers={"host": HOST}).status_code == 404


def test_every_answer_forbids_scripts_from_elsewhere(bench: Callable[..., httpx.Response]) -> None:
    for path in ("/api/jobs", "/nothing", "/api/job/nose.toml"):
        headers = bench("GET", path, headers={"host": HOST}).headers
        policy = headers["content-security-policy"]
        assert "default-src 'none'" in policy
        assert "unsafe" not in policy
        assert headers["x-content-type-options"] == "nosniff"


def test_saving_never_goes_over_a_change_on_disk(folder: Path) -> None:
    jobs = JobFolder(folder)
    loaded = digest_of(jobs.load("nose.toml"))
    (folder / "nose.toml").write_text(NOSE + "# by another hand\n", "utf-8")
    with pytest.raises(ChangedOnDiskError) as told:
        jobs.save("nose.toml", NOSE, loaded)
    assert told.value.text.endswith("# by another hand\n")
    jobs.save("nose.toml", NOSE, digest_of(told.value.text))
    assert jobs.load("nose.toml") == NOSE
    jobs.save("new.toml", NOSE, "")
    with pytest.raises(ChangedOnDiskError):
        jobs.save("new.toml", NOSE, "")
    with pytest.raises(NoSuchJobError):
        jobs.save("link.toml", NOSE, "")
    assert jobs.names() == ["new.toml", "nose.toml"]


def test_wrong_codes_are_few_and_a_code_expires() -> None:
    now = [0.0]
    access = Access("ABCD2345", clock=lambda: now[0])
    for _ in range(TRIES):
        assert access.enter("ABCD2346", "one") is None
    with pytest.raises(TooManyTriesError):
        access.enter("ABCD2345", "one")
    session = access.enter(" abcd2345 ", "another")
    assert session is not None
    assert access.holds(session)
    assert not access.holds(session + "x")
    assert not access.holds("")
    now[0] = WINDOW + 1.0
    assert access.enter("ABCD2345", "one") is not None
    now[0] = LASTS + 1.0
    assert access.enter("ABCD2345", "one") is None
    assert not access.holds(session)


def test_without_the_code_nothing_is_told(folder: Path) -> None:
    async def through(scope: Any, receive: Any, send: Any) -> None:
        raise AssertionError("a stranger got past the guard")

    guarded = Guard(through, hosts_of("192.0.2.7", 8410), Access("ABCD2345"))

    def ask(path: str, cookie: str) -> httpx.Response:
        async def once() -> httpx.Response:
            transport = httpx.ASGITransport(app=guarded)
            base = "http://192.0.2.7:8410"
            async with httpx.AsyncClient(transport=transport, base_url=base) as client:
                return await client.get(path, headers={"cookie": cookie})

        return apart(once)

    for cookie in ("", "bench=x", "bench=" + "x" * 500, "bench", "=;=;"):
        assert ask("/", cookie).headers["location"] == "/enter"
        assert ask("/api/jobs", cookie).status_code == 401
