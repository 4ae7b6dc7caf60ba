"""``laydown open``."""

from __future__ import annotations

from pathlib import Path

import click


@click.command("open", short_help="Open the workbench page.")
@click.option(
    "--port",
    type=click.IntRange(1, 65535),
    default=8765,
    show_default=True,
    help="Where to listen; a taken port picks the next.",
)
@click.option("--no-browser", is_flag=True, help="Print the address and open nothing.")
@click.option("--demo", is_flag=True, help="Open on the invented demo trial, put in on first need.")
@click.option("--lan", is_flag=True, help="Serve the studio's network; everybody signs in.")
@click.option(
    "--processes",
    type=click.IntRange(1, 16),
    default=2,
    show_default=True,
    help="With --lan: how many processes serve.",
)
@click.option(
    "--certificate", type=click.Path(path_type=Path), help="With --lan: a certificate (PEM), for encryption."
)
@click.option("--key", type=click.Path(path_type=Path), help="With --lan: the certificate's key (PEM).")
def open_workbench(
    port: int,
    no_browser: bool,
    demo: bool,
    lan: bool,
    processes: int,
    certificate: Path | None,
    key: Path | None,
) -> None:
    """Serve the workbench and open it in the browser.

    Without --lan it serves this computer only, and nobody needs to sign in. With --lan, tablets and other
    computers of the studio reach it too; make an owner's account first, on the page People.
    """
    from laydown import boot
    from laydown.kernel.errors import BadSetting
    from laydown.web.making import make_app
    from laydown.web.serve import Lan, serve

    if not lan and (certificate or key):
        raise BadSetting("a certificate is of use only with --lan.", todo="Add --lan, or leave it out.")
    if lan:
        _refuse_without_owner()
    serve(
        port=port,
        make=make_app,
        data_folder=boot.data_folder(),
        open_browser=not no_browser,
        lan=Lan(processes, certificate, key) if lan else None,
        first_page=_demo_page() if demo else "",
    )


def _demo_page() -> str:
    from laydown import boot
    from laydown.usecases.trial.seed_demo import seed_demo

    records = boot.records()
    try:
        return f"trials/{seed_demo(records, who='this computer').thing.id}"
    finally:
        records.close()


def _refuse_without_owner() -> None:
    from laydown import boot
    from laydown.kernel.errors import RefusedInput
    from laydown.usecases.people.accounts import owners

    records = boot.records()
    try:
        with records.look() as look:
            if owners(look):
                return
    finally:
        records.close()
    raise RefusedInput(
        "nobody could sign in: there is no owner's account yet.",
        todo="Run laydown open without --lan, make an owner on the page People, then start again with --lan.",
    )
