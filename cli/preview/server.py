"""The page's server: what it serves lies in memory, behind a token, for one machine, and is never stored.

Nothing is read from disk for a request. A request must name this machine in its ``Host``, so that no page from elsewhere
reaches it by a name of its own; the token is in the address, and an address without it leads nowhere.
"""

from __future__ import annotations

import asyncio
import json
import math
import secrets
from collections.abc import AsyncIterator, Awaitable, Callable
from contextlib import asynccontextmanager, suppress
from importlib import resources
from typing import Any
from urllib.parse import quote

from starlette.applications import Starlette
from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import PlainTextResponse, Response, StreamingResponse
from starlette.routing import Route
from starlette.types import ASGIApp, Message, Receive, Scope, Send
from watchfiles import awatch

from cli.preview.following import Following
from cli.preview.shown import Shown, media_type

PAGE = (
    ("", "page.html", "text/html; charset=utf-8"),
    ("preview.css", "preview.css", "text/css; charset=utf-8"),
    ("preview.js", "preview.js", "text/javascript; charset=utf-8"),
)
HEADERS = {
    "content-security-policy": (
        "default-src 'none'; script-src 'self'; style-src 'self'; connect-src 'self'; base-uri 'none'; form-action 'none'; "
        "frame-ancestors 'none'"
    ),
    "cache-control": "no-store",
    "referrer-policy": "no-referrer",
    "x-content-type-options": "nosniff",
    "cross-origin-resource-policy": "same-origin",
    "cross-origin-opener-policy": "same-origin",
}
_ALIVE = 15.0
"""Seconds after which a silent stream of events says that it is there."""
_FAR = 1e7
"""The longest length, mm, that is put into words."""
_STEP = 40
"""Milliseconds without a change after which changes are looked at."""
_LULL = 0.6
"""Seconds that a job stands as it is before its slow rest is begun, which would hold up the next save of a quick hand."""
_ANYWAY = 2000
"""Milliseconds after which the file is looked at though no change was told, as on a drive of another machine."""


class Stage:
    """What all parts of the server share: the job followed, word of its changes, and the end."""

    def __init__(self, following: Following) -> None:
        """Take the job, looked at already."""
        self.following = following
        self.over = asyncio.Event()
        self._news = asyncio.Event()

    def tell(self) -> None:
        """Wake everyone who waits for news."""
        news, self._news = self._news, asyncio.Event()
        news.set()

    def end(self) -> None:
        """End the streams and the watching, so that nothing keeps the server."""
        self.over.set()
        self.tell()

    async def numbers(self) -> AsyncIterator[int | None]:
        """Yield the number of each standing of the job as it comes; None where nothing came for a while."""
        told = -1
        while not self.over.is_set():
            news, number = self._news, self.following.standing.number
            if number != told:
                told = number
                yield number
                continue
            try:
                await asyncio.wait_for(news.wait(), _ALIVE)
            except TimeoutError:
                yield None

    async def follow(self) -> None:
        """Look at the job whenever it is saved, until the end; the slow rest is worked out beside."""
        rest = asyncio.create_task(self._complete())
        try:
            async for _ in self._stirs():
                if not await asyncio.to_thread(self.following.changed):
                    continue
                await asyncio.to_thread(self.following.look)
                self.tell()
                if rest.done():
                    rest = asyncio.create_task(self._complete())
        finally:
            rest.cancel()

    async def _stirs(self) -> AsyncIterator[None]:
        """Yield whenever something near the job may have changed, and now and then anyway, until the end."""
        polling = False
        while not self.over.is_set():
            folders = self.following.folders()
            try:
                async for _ in awatch(
                    *folders,
                    watch_filter=None,
                    debounce=400,
                    step=_STEP,
                    stop_event=self.over,
                    rust_timeout=_ANYWAY,
                    yield_on_timeout=True,
                    force_polling=polling or None,
                    recursive=False,
                ):
                    yield
                    if self.following.folders() != folders:
                        break
            except (OSError, RuntimeError):
                # a folder that is gone, or a system that has no watch left to give: looked at now and then instead
                polling = True
                await asyncio.sleep(_ANYWAY / 4000)
                yield

    async def _complete(self) -> None:
        """Work out what is slow until what is shown has it; what was saved meanwhile comes after."""
        shown: Shown | None = None
        while not self.over.is_set() and shown is not self.following.standing.shown:
            shown = self.following.standing.shown
            await asyncio.sleep(_LULL)
            if shown is not self.following.standing.shown:
                continue
            if await asyncio.to_thread(self.following.complete):
                self.tell()


def preview_app(stage: Stage, token: str, hosts: frozenset[str]) -> ASGIApp:
    """Return the application: the page below ``/token/``, for requests whose ``Host`` is one of ``hosts``."""

    @asynccontextmanager
    async def lifespan(_: Starlette) -> AsyncIterator[None]:
        watching = asyncio.create_task(stage.follow())
        try:
            yield
        finally:
            stage.end()
            watching.cancel()
            with suppress(asyncio.CancelledError):
                await watching

    app = Starlette(routes=[*_page_routes(token), *_job_routes(stage, token)], lifespan=lifespan)
    return _Guarded(app, token, hosts)


def _page_routes(token: str) -> list[Route]:
    def serving(data: bytes, media: str) -> Callable[[Request], Awaitable[Response]]:
        async def serve(_: Request) -> Response:
            return Response(data, media_type=media)

        return serve

    here = resources.files("cli.preview")
    return [Route(f"/{token}/{path}", serving(here.joinpath(name).read_bytes(), media)) for path, name, media in PAGE]


def _job_routes(stage: Stage, token: str) -> list[Route]:
    async def state(_: Request) -> Response:
        standing = stage.following.standing
        return Response(await run_in_threadpool(lambda: standing.content), media_type="application/json")

    async def events(_: Request) -> Response:
        async def lines() -> AsyncIterator[str]:
            yield "retry: 1000\n\n"
            async for number in stage.numbers():
                yield ": still here\n\n" if number is None else f"data: {number}\n\n"

        return StreamingResponse(lines(), media_type="text/event-stream")

    async def lengths(request: Request) -> Response:
        shown = stage.following.standing.shown
        values = [_number(text) for text in request.query_params.getlist("mm")]
        if shown is None or not 1 <= len(values) <= 4 or not all(abs(v) <= _FAR for v in values):
            return PlainTextResponse(f"found no lengths; expected mm=NUMBER, up to 4 of them, up to {_FAR:g}", 400)
        texts = [shown.layout.laid.labels.fine(v) for v in values]
        return Response(json.dumps(texts, ensure_ascii=False).encode(), media_type="application/json")

    async def files(_: Request) -> Response:
        shown = stage.following.standing.shown
        names = [] if shown is None else await run_in_threadpool(shown.file_names)
        return Response(json.dumps(names, ensure_ascii=False).encode(), media_type="application/json")

    async def file(request: Request) -> Response:
        shown, name = stage.following.standing.shown, request.path_params["name"]
        data = None if shown is None else await run_in_threadpool(shown.file, name)
        if data is None or shown is None:
            return _nothing()
        told = quote(
            f"{shown.layout.job.job.number}-{name.replace('/', '-')}" if name != shown.pdf_name else name, safe=""
        )
        headers = {"content-disposition": f"attachment; filename*=UTF-8''{told}"}
        return Response(data, media_type=media_type(name), headers=headers)

    return [
        Route(f"/{token}/state.json", state),
        Route(f"/{token}/events", events),
        Route(f"/{token}/lengths.json", lengths),
        Route(f"/{token}/files.json", files),
        Route(f"/{token}/files/{{name:path}}", file),
    ]


def _number(text: str) -> float:
    """Return a number that was asked for; one without end where it is none, which no length is."""
    try:
        value = float(text)
    except ValueError:
        return math.inf
    return value if math.isfinite(value) else math.inf


def _nothing() -> Response:
    return PlainTextResponse("nothing here", 404)


class _Guarded:
    """Lets through what names this machine and bears the token, and puts the same headers on everything."""

    def __init__(self, app: ASGIApp, token: str, hosts: frozenset[str]) -> None:
        self.app, self.token, self.hosts = app, token.encode(), hosts

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] != "http":
            # the server's own start and end; there are no websockets
            if scope["type"] == "lifespan":
                await self.app(scope, receive, send)
            return

        async def with_headers(message: Message) -> None:
            if message["type"] == "http.response.start":
                own: list[Any] = [(name.encode(), value.encode()) for name, value in HEADERS.items()]
                message = {**message, "headers": [*message.get("headers", ()), *own]}
            await send(message)

        await (self._refusal(scope) or self.app)(scope, receive, with_headers)

    def _refusal(self, scope: Scope) -> Response | None:
        hosts = [value.decode("latin-1").lower() for name, value in scope["headers"] if name == b"host"]
        if len(hosts) != 1 or hosts[0] not in self.hosts:
            return PlainTextResponse("this page is for this machine only, by the address that was printed", 403)
        first = scope["path"].encode("utf-8", "surrogateescape").lstrip(b"/").partition(b"/")[0]
        return None if secrets.compare_digest(first, self.token) else _nothing()
