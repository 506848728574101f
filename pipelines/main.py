"""The command line: registers the commands and turns errors into sentences and exit codes."""

from __future__ import annotations

import importlib
import os
import re
import sys
from pathlib import Path
from typing import Annotated, Any

import typer
from rangeledger.schemas.errors import RangeledgerError, UsageError
from typer.core import TyperGroup

# Command, the room under rangeledger.pipelines.commands that has its module, its line in the help.
COMMANDS: dict[str, tuple[str, str]] = {
    "demo": ("loading", "Fill a home of its own with the sample exports and show carry by club."),
    "ingest": ("loading", "Load exports: files, folders, or what waits in the inbox."),
    "inspect": ("loading", "Show how an export is understood, without loading it."),
    "sql": ("asking", "Ask the published database."),
    "watch": ("loading", "Watch the inbox and load what is dropped, until it is stopped."),
    "serve": ("serving", "Answer SQL over the network, read-only, until it is stopped."),
    "pages": ("serving", "Show the coach's pages in a browser, until it is stopped."),
    "token": ("serving", "Make, list or withdraw a token for those who ask the server."),
    "checkup": ("keeping", "Look whether the home is sound, and say what to do where it is not."),
    "status": ("asking", "Tell what waits, what was loaded, and how fresh the answers are."),
    "fit": ("keeping", "Refit what has changed, and publish."),
    "heal": ("keeping", "Make damaged files of the lake anew from the archived originals."),
    "rebuild": ("keeping", "Make the database anew from the lake."),
    "store": ("keeping", "Share one store with other homes: join, leave, tidy, let others read."),
    "exclude": ("correcting", "Leave a session, or a loaded export, out; all is kept."),
    "include": ("correcting", "Take a session back into the fits."),
    "reload": ("loading", "Read exports again under today's mappings, notes and settings."),
    "prefer": ("correcting", "Let one of several exports of the same shots count."),
    "forget": ("correcting", "Remove a player or an export from the home, for good."),
    "rename": ("correcting", "Let another name of a player stand for the player."),
    "move": ("correcting", "Move a session to another player."),
    "merge": ("correcting", "Make two sessions of a player one visit."),
    "flight": ("advising", "Fly one shot from its launch through wind and air."),
    "compare": ("advising", "Hold two ways of hitting against each other."),
    "target": ("advising", "Find where to aim with which club on a hole."),
    "report": ("asking", "Write reports, pocket cards and an overview of the players."),
    "simulate": ("advising", "Draw shots that a player might hit."),
    "export": ("asking", "Export the players' models for a simulator."),
}


_REFUSED = 3  # exit code where the machine refused
# What the command line library calls a value that is no number, or outside its limits.
_NUMBERS = {
    "float_parsing": "a number", "int_parsing": "a whole number", "int_from_float": "a whole number"
}  # fmt: skip
_LIMITS = {
    "greater_than_equal": "at least", "greater_than": "more than",
    "less_than_equal": "at most", "less_than": "less than",
}  # fmt: skip


class LazyGroup(TyperGroup):
    """Command group that imports a command's module when that command is called."""

    def list_commands(self, ctx: Any) -> list[str]:  # noqa: ARG002
        """Names of the commands, in the order of a day's work."""
        return list(COMMANDS)

    def get_command(self, ctx: Any, cmd_name: str) -> Any:  # noqa: ARG002
        """Command of that name, None where there is none."""
        if cmd_name not in COMMANDS:
            return None
        found: Any = importlib.import_module(
            f"rangeledger.pipelines.commands.{COMMANDS[cmd_name][0]}.{cmd_name}"
        )
        function = getattr(found, cmd_name)
        shell = typer.Typer(add_completion=False, rich_markup_mode=None)
        shell.command(cmd_name, help=function.__doc__)(function)
        command = typer.main.get_command(shell)
        command.name = cmd_name
        return command

    def format_commands(self, ctx: Any, formatter: Any) -> None:  # noqa: ARG002
        """List the commands without importing them."""
        with formatter.section("Commands"):
            formatter.write_dl([(name, line) for name, (_, line) in COMMANDS.items()])

    def invoke(self, ctx: Any) -> Any:
        """Run a command; an error ends in one plain sentence and the contract's exit code."""
        try:
            return super().invoke(ctx)
        except RangeledgerError as error:
            return ctx.exit(_print_error(str(error), error.exit_code))
        except KeyboardInterrupt:
            from rangeledger.warehouse.system.ending import INTERRUPTED

            return ctx.exit(_print_error(INTERRUPTED, 3))
        except BrokenPipeError:
            # The reader of our output has gone, as `head` does: nothing is wrong.
            os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
            return ctx.exit(0)
        except OSError as error:
            where = f" ({error.filename})" if error.filename else ""
            return ctx.exit(
                _print_error(f"The machine refused: {error.strerror or error}{where}.", 3)
            )
        except Exception as error:
            if wrong := _wrong_value(error):
                return ctx.exit(_print_error(wrong, 2))
            if _is_usage(error):
                raise
            return ctx.exit(_fault(ctx.obj, error))


def _wrong_value(error: Exception) -> str | None:
    """What is wrong with a value on the command line; None for any other error."""
    list_errors = getattr(error.__cause__, "errors", None)
    parameter = getattr(error, "param", None)
    if parameter is None or list_errors is None:
        return None
    first = list_errors()[0]
    name, value, kind = parameter.opts[0], str(first["input"]), str(first["type"])
    for start, word in _LIMITS.items():
        if kind.startswith(start):
            return f"{name} {value} can't be; give {word} {next(iter(first['ctx'].values())):g}."
    if kind not in _NUMBERS:
        return f"{name}: {str(first['msg']).removeprefix('Value error, ').rstrip('.')}."
    with_point = value.replace(",", ".")
    if (
        kind == "float_parsing"
        and "," in value
        and re.fullmatch(r"[+-]?[0-9]*\.[0-9]+", with_point)
    ):
        return f"{name} '{value}' is not {_NUMBERS[kind]}; write {with_point}."
    return f"{name} '{value}' is not {_NUMBERS[kind]}."


def _print_version(requested: bool) -> None:
    """Print the version and end."""
    if requested:
        from importlib.metadata import PackageNotFoundError, version

        try:
            found = version("rangeledger")
        except PackageNotFoundError:
            found = "run from its source, not installed"
        typer.echo(f"rangeledger {found}")
        raise typer.Exit


def _is_usage(error: Exception) -> bool:
    """Whether the command line library itself will tell this error, or ends the command."""
    return hasattr(error, "exit_code") or isinstance(error, typer.Exit | typer.Abort)


def _fault(option: Path | None, error: Exception) -> int:
    from rangeledger.pipelines.faults import fault_log, keep_fault
    from rangeledger.warehouse.home import find_home

    home = find_home(option)
    keep_fault(home, error, " ".join(sys.argv[1:]))
    return _print_error(
        "The program met a fault of its own; what was loaded before stays, and exports that were "
        f"not finished wait in the inbox. Report it with the last entry of {fault_log(home)}.",
        3,
    )


def _print_error(sentence: str, code: int) -> int:
    sys.stderr.write(f"rangeledger: {sentence}\n")
    return code


app = typer.Typer(
    cls=LazyGroup,
    add_completion=False,
    no_args_is_help=True,
    pretty_exceptions_enable=False,
    rich_markup_mode=None,
    context_settings={"help_option_names": ["--help", "-h"]},
)


@app.callback()
def _root(
    context: typer.Context,
    home: Annotated[
        str | None,
        typer.Option(
            "--home",
            metavar="<path>",
            help="Home folder; else $RANGELEDGER_HOME, else ~/rangeledger.",
            show_default=False,
        ),
    ] = None,
    version: Annotated[  # noqa: ARG001
        bool,
        typer.Option(
            "--version", callback=_print_version, is_eager=True, help="Tell the version and exit."
        ),
    ] = False,
) -> None:
    """Golf launch data in, carry and dispersion that SQL can ask for out.

    Drop an export, then ask:

    \b
    rangeledger ingest my-session.csv
    rangeledger sql "SELECT player, club, carry_yd, carry_sd_yd FROM carry_by_club"
    """
    if home == "":
        raise UsageError("--home is empty. Name a folder, or leave the option out.")
    context.obj = None if home is None else Path(home)


def begin() -> None:
    """Suit this process to somebody who waits for it."""
    from rangeledger.warehouse.system.importing import collect_seldom, put_off

    collect_seldom()
    # Great Expectations and scikit-learn import them for what nobody here asks of them; with
    # them a load begins .8 s later.
    put_off("scipy.stats", "altair")


def main() -> None:
    """Run the command line."""
    if os.name != "posix":
        unix = "Linux or another Unix is needed, for the locks that keep a home whole."
        sys.exit(_print_error(unix, 3))
    from rangeledger.warehouse.system.ending import end_at_once

    begin()
    try:
        app(prog_name="rangeledger")
    except SystemExit as end:
        if not isinstance(end.code, int):
            raise
        status = end.code
    except OSError as error:  # the help could not be written
        status = _tell_refusal(error)
    told = status == _REFUSED
    end_at_once(status, on_refusal=lambda error: _REFUSED if told else _tell_refusal(error))


def _tell_refusal(error: OSError) -> int:
    sentence = f"The machine refused to take the answer: {error.strerror or error}."
    return _print_error(sentence, _REFUSED)


if __name__ == "__main__":
    main()
