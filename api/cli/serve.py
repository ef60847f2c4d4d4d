"""The command ``serve``: answers over HTTP on this machine until it is told to stop."""

from __future__ import annotations

import os
import signal
import socket
from types import FrameType
from typing import Annotated

import typer
import uvicorn

from api.cli.options import JsonOption, StoreOption
from api.cli.output import print_json, say
from api.error_replies import WELL
from api.settings import Settings, read_settings
from api.shop.shop import Shop
from pricing.errors import UnsafeSetting


def serve(
    port: Annotated[
        int | None, typer.Option("--port", min=0, max=65535, help="Port; 0 takes any free one.")
    ] = None,
    host: Annotated[str | None, typer.Option("--host", help="Loopback address.")] = None,
    store: StoreOption = None,
    as_json: JsonOption = False,
) -> int:
    """Answer over HTTP on this machine. SIGTERM or Ctrl-C ends it.

    Example: plainsale serve --port 8000
    """
    settings = read_settings(port=port, host=host, store=store)
    # A store that cannot be opened is told in words, before anybody asks.
    Shop(settings).open_and_close()
    listening = _listen(settings)
    signal.signal(signal.SIGTERM, _leave)
    signal.signal(signal.SIGINT, _leave)
    # The service reads its settings itself, as when a process manager starts it.
    os.environ["PLAINSALE_STORE"] = settings.store_address
    address = f"http://{settings.host}:{listening.getsockname()[1]}"
    if as_json:
        print_json({"url": address, "store": settings.store_address})
    else:
        say(f"plainsale answers at {address} (what it understands: {address}/openapi.json)")
    config = uvicorn.Config("api.app:create_app", factory=True, log_level="warning", access_log=False)
    uvicorn.Server(config).run(sockets=[listening])
    return WELL


def _listen(settings: Settings) -> socket.socket:
    family = socket.AF_INET6 if ":" in settings.host else socket.AF_INET
    listening = socket.socket(family, socket.SOCK_STREAM)
    listening.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        listening.bind((settings.host, settings.port))
        listening.listen(128)
    except OSError as error:
        listening.close()
        place = f"port {settings.port} at {settings.host}"
        raise UnsafeSetting(f"{place}: {error.strerror}; choose another") from error
    return listening


def _leave(_number: int, _frame: FrameType | None) -> None:
    # uvicorn raises the signal again after it has closed everything: that is a good end.
    raise SystemExit(WELL)
