"""Start the bench: address, port, access code, and what the terminal says."""

from __future__ import annotations

import ipaddress
import sys
from pathlib import Path

from mandrelwright.job.values import InputError


def serve(job: Path | None, address: str, port: int) -> None:
    """Serve the folder of a job, or the folder one is in, until interrupted.

    Other addresses than those of this computer itself ask everybody for an access code.
    Raises InputError for an address or a job that cannot be used.
    """
    import uvicorn

    from mandrelwright.bench.access import Access, new_code
    from mandrelwright.bench.app import make_app
    from mandrelwright.bench.guard import hosts_of

    root = _root(job)
    local = _is_local(address)
    access = Access("" if local else new_code())
    page = f"/job/{job.name}" if job else "/"
    shown = f"[{address}]" if ":" in address else address
    _say(f"http://{shown}:{port}", page, access.code)
    app = make_app(root, hosts_of(address, port), access)
    uvicorn.run(app, host=address, port=port, log_level="warning", access_log=False,
                server_header=False)  # fmt: skip


def _root(job: Path | None) -> Path:
    from mandrelwright.bench.folder import JobFolder, NoSuchJobError

    if job is None:
        return Path.cwd()
    try:
        JobFolder(job.parent).load(job.name)
    except NoSuchJobError:
        raise InputError(
            f"{job} is no job file the bench can open",
            "give a TOML file whose name is plain letters, digits, - and _; or none, and answer "
            "the six questions",
        ) from None
    return job.parent


def _is_local(address: str) -> bool:
    try:
        given = ipaddress.ip_address(address)
    except ValueError:
        raise InputError(
            f"--address {address} is no address", "write 127.0.0.1, or that of this computer"
        ) from None
    if given.is_unspecified:
        raise InputError(
            f"--address {address} is every address at once",
            "give the one that your phone reaches, such as 192.168.1.20",
        )
    return given.is_loopback


def _say(address: str, page: str, code: str) -> None:
    print(f"The bench: {address}{page}   (Ctrl-C ends it)", flush=True)
    if code:
        import segno

        print(f"Access code: {code}, for twelve hours. On a phone:", flush=True)
        segno.make(f"{address}/enter#{code}", micro=False).terminal(sys.stdout, compact=True)
        print("Whoever is on this network can see what is sent: it is not encrypted.", flush=True)
