"""Makes the workbench from the settings, in whichever process is to serve it."""

from __future__ import annotations

import gc
from datetime import UTC, datetime

from fastapi import FastAPI

from laydown import boot
from laydown.records.uploads import UploadStore
from laydown.web.app import create_app
from laydown.web.demo import demo_request
from laydown.web.network import Network


def make_app(network: Network | None = None) -> FastAPI:
    """The workbench over this computer's own records."""
    folder = boot.data_folder()
    app = create_app(
        store=UploadStore(folder, clock=lambda: datetime.now(UTC)),
        records=boot.records(),
        secret=boot.secret(),
        runner=boot.runner(),
        demo=lambda: demo_request(folder),
        network=network,
    )
    # What is loaded now stays: looking through it for garbage again and again held pages up by 100 to 150 ms.
    gc.collect()
    gc.freeze()
    return app
