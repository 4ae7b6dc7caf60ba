"""The ``laydown`` command. Each command lives in a file of its own and is imported only when it is called."""

from __future__ import annotations

import click

from laydown.kernel.version import __version__

_COMMANDS = {
    "compare": "Which medium is better, and is the difference real?",
    "gamut": "How large is the colour range, and what is shared?",
    "check": "What is in this file, and what is wrong with it?",
    "demo": "Write the invented demo trial's files.",
    "open": "Open the workbench page, here or on the studio's network.",
    "form": "Draw a test form; find its page in a file or a scan.",
    "watch": "Take in what an instrument's software exports.",
    "backup": "Write all records and files into one file.",
    "restore": "Take a backup back.",
    "verify": "See that everything kept is sound.",
}


class _LazyGroup(click.Group):
    """Lists commands without importing them, so that --help is quick."""

    def list_commands(self, ctx: click.Context) -> list[str]:
        """Names in the order a newcomer needs them."""
        return list(_COMMANDS)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        """Import the one command that was asked for."""
        found: click.Command | None = None
        if cmd_name == "compare":
            from laydown.cli.compare import compare as found
        elif cmd_name == "gamut":
            from laydown.cli.gamut import gamut as found
        elif cmd_name == "check":
            from laydown.cli.check import check as found
        elif cmd_name == "demo":
            from laydown.cli.demo import demo as found
        elif cmd_name == "open":
            from laydown.cli.open_workbench import open_workbench as found
        elif cmd_name == "form":
            from laydown.cli.form import form as found
        elif cmd_name == "watch":
            from laydown.cli.watch import watch as found
        elif cmd_name == "backup":
            from laydown.cli.backup import backup as found
        elif cmd_name == "restore":
            from laydown.cli.restore import restore as found
        elif cmd_name == "verify":
            from laydown.cli.verify import verify as found
        return found

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        """The list under --help, from the table above."""
        with formatter.section("Commands"):
            formatter.write_dl(list(_COMMANDS.items()))


@click.group(
    cls=_LazyGroup, context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 80}
)
@click.version_option(__version__, prog_name="laydown")
def group() -> None:
    """Trials of fine-art inkjet media: which medium is better, and is the difference real?"""


def main() -> None:
    """Run the command line; errors raised on purpose become one sentence and exit code 2."""
    from laydown.kernel.errors import LaydownError

    try:
        group(prog_name="laydown")
    except LaydownError as error:
        click.echo(f"laydown: {error}", err=True)
        raise SystemExit(2) from None
