"""``laydown form``: a test form without a workbench."""

from __future__ import annotations

import click

_COMMANDS = {
    "foretell": "What would an area of patches tell?",
    "draw": "Design a form and write the files that printer and reader need.",
    "match": "Which page is a measurement file of, and in which order was it read?",
    "locate": "Where does a page lie in a scan, and how long was it printed?",
}


class _LazyForms(click.Group):
    """Lists commands without importing them."""

    def list_commands(self, ctx: click.Context) -> list[str]:
        """Names in the order of the work."""
        return list(_COMMANDS)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        """Import the one command that was asked for."""
        found: click.Command | None = None
        if cmd_name == "foretell":
            from laydown.cli.form_foretell import foretell as found
        elif cmd_name == "draw":
            from laydown.cli.form_draw import draw as found
        elif cmd_name == "match":
            from laydown.cli.form_match import match as found
        elif cmd_name == "locate":
            from laydown.cli.form_locate import locate as found
        return found

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        """The list under --help, from the table above."""
        with formatter.section("Commands"):
            formatter.write_dl(list(_COMMANDS.items()))


@click.group(cls=_LazyForms, short_help="Draw a test form; find its page in a file or a scan.")
def form() -> None:
    """The test form: what every candidate medium is printed from."""
