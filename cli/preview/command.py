"""``staveline preview``: load the job, take a port of this machine, open the page, serve until Ctrl-C."""

from __future__ import annotations

import asyncio
import secrets
import socket
import threading
import webbrowser
from contextlib import suppress
from pathlib import Path
from types import FrameType

import typer
import uvicorn

from cli.endings import DONE, UNREADABLE, UNWRITTEN
from cli.preview.following import Following
from cli.preview.server import Stage, preview_app

HOST = "127.0.0.1"
TOKEN_BYTES = 18


def preview_job(job: Path, port: int, *, browser: bool) -> int:
    """Show a job until it is interrupted and return the exit status. ``port``: 0 for any that is free."""
    if not job.is_file():
        typer.echo(f"{job}: found {'a folder' if job.is_dir() else 'no such file'}; expected a job file", err=True)
        return UNREADABLE
    try:
        door = listen(port)
    except OSError as error:
        reason = error.strerror or error
        typer.echo(f"port {port} of {HOST} cannot be had ({reason}); give another --port, or none", err=True)
        return UNWRITTEN
    with door:
        following = Following(job)
        following.look()
        if following.standing.error:
            typer.echo(following.standing.error, err=True)
        # where a shell began this in the background, an interrupt ends the server and is no exception afterwards
        with suppress(KeyboardInterrupt):
            asyncio.run(_serve(following, door, browser=browser))
        typer.echo("the preview has ended")
    return DONE


def listen(port: int) -> socket.socket:
    """Return an open port of this machine alone, 0 for any that is free. Raises OSError."""
    door = socket.socket(socket.AF_INET, socket.SOCK_STREAM)
    try:
        # a port just left may be taken again at once; one that somebody listens at may not
        door.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        door.bind((HOST, port))
        door.listen()
    except OSError:
        door.close()
        raise
    return door


async def _serve(following: Following, door: socket.socket, *, browser: bool) -> None:
    token, port = secrets.token_urlsafe(TOKEN_BYTES), door.getsockname()[1]
    stage = Stage(following)
    address = f"http://{HOST}:{port}/{token}/"
    typer.echo(f"{following.path} is shown at {address}\nit follows the file as it is saved; end it with Ctrl-C")
    if browser:
        # some browsers of a terminal come back only when they are closed
        threading.Thread(target=webbrowser.open, args=(address,), daemon=True).start()
    await preview_server(stage, token, door).serve(sockets=[door])


def preview_server(stage: Stage, token: str, door: socket.socket) -> uvicorn.Server:
    """Return the server of a job's page at an open port; its ``handle_exit`` ends it."""
    port = door.getsockname()[1]
    config = uvicorn.Config(
        preview_app(stage, token, frozenset({f"{HOST}:{port}", f"localhost:{port}"})),
        http="h11",
        ws="none",
        lifespan="on",
        log_level="warning",
        access_log=False,
        server_header=False,
        date_header=False,
        timeout_graceful_shutdown=3,
    )
    return _Server(config, stage)


class _Server(uvicorn.Server):
    """A server that ends its streams of events when it is to end, since they would go on for ever."""

    def __init__(self, config: uvicorn.Config, stage: Stage) -> None:
        super().__init__(config)
        self.stage = stage

    def handle_exit(self, sig: int, frame: FrameType | None) -> None:
        """Take the signal to end."""
        self.stage.end()
        super().handle_exit(sig, frame)
