"""``laydown workbench``."""

from __future__ import annotations

import click


@click.command(short_help="Open the workbench page on this computer.")
@click.option(
    "--port",
    type=click.IntRange(1, 65535),
    default=8765,
    show_default=True,
    help="Where to listen; a taken port picks the next.",
)
@click.option("--no-browser", is_flag=True, help="Print the address and open nothing.")
def workbench(port: int, no_browser: bool) -> None:
    """Serve the workbench to this computer only, and open it in the browser."""
    from laydown import boot
    from laydown.web.serve import serve

    serve(
        port=port,
        data_folder=boot.data_folder(),
        records=boot.records(),
        secret=boot.secret(),
        runner=boot.runner(),
        open_browser=not no_browser,
    )
