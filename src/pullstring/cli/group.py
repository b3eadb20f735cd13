"""The group of verbs: loads a verb's module only when it is called, and turns errors into sentences and exit codes."""

from __future__ import annotations

import importlib
import sys

import click

from pullstring.cli import VERBS
from pullstring.model.answers import Stopped


class _Verbs(click.Group):
    def list_commands(self, ctx: click.Context) -> list[str]:
        return list(VERBS)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        if cmd_name not in VERBS:
            return None
        module = importlib.import_module(VERBS[cmd_name][0])
        command: click.Command = module.COMMANDS[cmd_name]
        return command

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        with formatter.section("Verbs"):
            formatter.write_dl([(name, words) for name, (_, words) in VERBS.items()])


@click.group(cls=_Verbs, context_settings={"help_option_names": ["-h", "--help"]})
@click.version_option(package_name="pullstring")
def verbs() -> None:
    """Keeps what was found and done in the wiring of a property, reasons on it, and prints it.

    \b
    Exit codes: 0 answered, 1 needs attention (with --strict), 2 the request was wrong and nothing was changed.
    """


def program(args: list[str] | None) -> int:
    """Run one verb; all that is wrong with a request goes to standard error, a sentence a line."""
    try:
        code = verbs.main(args, standalone_mode=False)
        return code if isinstance(code, int) else 0
    except click.ClickException as error:
        error.show(file=sys.stderr)
        return 2
    except (click.Abort, KeyboardInterrupt, Stopped):
        click.echo("stopped; nothing more was written", err=True)
        return 2
    except (ValueError, OSError) as error:
        if isinstance(error, OSError) and error.filename:
            click.echo(f"{error.filename}: {error.strerror}; check the name and its rights", err=True)
        else:
            click.echo(str(error), err=True)
        return 2
