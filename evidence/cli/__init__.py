"""The command line: reads arguments, calls one function, prints.

Commands are imported when they are called, so that `--help` starts at once.
"""

import gc
import importlib
import os
import sys
from collections.abc import Sequence

import click

from evidence.errors import EvidenceError

_COMMANDS = {
    "demo": (
        "evidence.cli.samples",
        "Build the sample case, issue its dossier, pack and check it.",
    ),
    "start": ("evidence.cli.writing", "Start a new case."),
    "enter": ("evidence.cli.writing", "Write one entry."),
    "intake": ("evidence.cli.writing", "Seal pictures and other files at once."),
    "photos": (
        "evidence.cli.pictures",
        "Each picture: when it can have been taken, and what it raises.",
    ),
    "measure": ("evidence.cli.measuring", "A length in a picture, by a card that lies there."),
    "due": ("evidence.cli.dues", "What is due, by when, by whose rule."),
    "round": ("evidence.cli.rounds", "A pocket sheet for the next look."),
    "standing": ("evidence.cli.reading", "The record measured."),
    "zone": ("evidence.cli.reading", "Everything about one place on the roof."),
    "materials": ("evidence.cli.materials", "Which sealant fits, and how many tubes."),
    "dryness": ("evidence.cli.dryness", "Is it fit to seal now."),
    "moisture": ("evidence.cli.moisture", "What a moisture reading says, and what it cannot."),
    "challenge": ("evidence.cli.challenging", "What the other side will say of this record."),
    "witness": ("evidence.cli.witnessing", "An outsider's word on the present head."),
    "cosign": ("evidence.cli.cosigning", "Cosign the head of somebody else's record."),
    "card": ("evidence.cli.paper", "A card to lay in the next photos."),
    "dossier": ("evidence.cli.proof", "Issue a signed PDF."),
    "pack": ("evidence.cli.packing", "The record, its proof and its files in one ZIP."),
    "check": ("evidence.cli.checking", "Verify a case, a pack or a dossier."),
    "key": ("evidence.cli.keys", "The keys that may sign: list, add, replace, recover."),
    "schema": ("evidence.cli.reading", "JSON Schema of the entries."),
    "export": ("evidence.cli.reading", "The record as CSV and JSON Lines."),
}

_NAMES = {"round": "round_"}
"""Functions that cannot bear the name of their command: Python has one of that name."""


GC_THRESHOLDS = (100_000, 20, 100)
"""A command lives for seconds and makes few cycles: looking for them often costs more than it
frees, a third of the time on a large record."""


class _Lazy(click.Group):
    """A group whose commands are imported when they are called."""

    def list_commands(self, ctx: click.Context) -> list[str]:  # noqa: ARG002
        return list(_COMMANDS)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:  # noqa: ARG002
        if cmd_name not in _COMMANDS:
            return None
        module = importlib.import_module(_COMMANDS[cmd_name][0])
        command: click.Command = getattr(module, _NAMES.get(cmd_name, cmd_name))
        return command

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:  # noqa: ARG002
        """List the commands without importing them."""
        with formatter.section("Commands"):
            formatter.write_dl([(name, text) for name, (_, text) in _COMMANDS.items()])


@click.group(
    cls=_Lazy,
    context_settings={"help_option_names": ["--help", "-h"]},
    epilog="Example:  roof-evidence demo",
)
@click.version_option(package_name="roof-evidence", prog_name="roof-evidence")
def cli() -> None:
    """Prove the upkeep of a recreational vehicle's roof.

    Each look, wash, treatment and reseal goes into an append-only record tied to what the camera
    wrote. The program says what the record supports and prints a signed PDF that a stranger can
    check. It names no cause.
    """


def main(arguments: Sequence[str] | None = None) -> None:
    """Run the program and leave with its exit code (OUTPUTS: 0, 2, 3, 4; 1 for its own faults)."""
    gc.set_threshold(*GC_THRESHOLDS)
    for stream in (sys.stdout, sys.stderr):
        if hasattr(stream, "reconfigure"):
            stream.reconfigure(errors="replace")  # an old console must not stop a look
    sys.exit(_run(arguments))


def _run(arguments: Sequence[str] | None) -> int:  # noqa: PLR0911 - one way out for each ending
    try:
        code = cli.main(args=arguments, prog_name="roof-evidence", standalone_mode=False)
    except EvidenceError as error:
        return _say(str(error), error.exit_code)
    except click.exceptions.Exit as error:
        return error.exit_code
    except click.UsageError as error:
        command = "roof-evidence" if error.ctx is None else error.ctx.command_path
        return _say(f"{error.format_message()}\nSee `{command} --help`.", 2)
    except click.ClickException as error:
        return _say(error.format_message(), 2)
    except (click.Abort, KeyboardInterrupt):
        return _say(
            "Stopped. What was written before stands; an entry stands whole or not at all.", 2
        )
    except BrokenPipeError:
        sys.stderr.close()
        return 0
    except Exception as error:  # the last door: a fault of the program itself
        if os.environ.get("ROOF_EVIDENCE_DEBUG"):
            raise
        return _say(
            f"A fault of the program itself: {type(error).__name__}.\n"
            "What was written before stands; `roof-evidence check CASE` says how the record is.\n"
            "Set ROOF_EVIDENCE_DEBUG=1 to see where.",
            1,
        )
    return code if isinstance(code, int) else 0


def _say(message: str, code: int) -> int:
    """At most three lines on standard error."""
    click.echo("\n".join(message.splitlines()[:3]), err=True)
    return code
