"""The command line: one file per group of commands, loaded only when its command is called.

It reads options, calls the rooms, and prints; no rules live here. Answers go to standard output, talk and
progress to standard error. Every refusal becomes one message and the exit status of its kind.
"""

import inspect
import os
import sys
import time
from contextlib import suppress
from copy import copy
from importlib import import_module
from itertools import pairwise

import click

from cheque import __version__, tongue, tongues
from cheque.errors import Refusal
from cheque.tongue import tr

#: command -> (module, what it does). The page of help is made from this, so that nothing else is loaded for it.
COMMANDS = {
    "setup": ("setup", "Write a commented cheque.toml and an empty book here."),
    "form": ("form", "The form library: list, show and check forms."),
    "stock": ("stock", "Numbered stock: receive, list, count, destroy."),
    "register": ("register", "Read and judge a register, changing nothing."),
    "batch": ("batch", "Accept a register with its control totals; list, show, approve, pull, withdraw."),
    "proof": ("proof", "Show what will be printed, and give its proof code."),
    "align": ("align", "Line up a form on a printer, and keep the shift."),
    "print": ("printing", "Print a batch, form by form."),
    "resume": ("printing", "Go on after any stop: a few questions about the paper, then the rest."),
    "confirm": ("confirm", "Say what came out: which forms are good, and which are not."),
    "spoil": ("forms", "A form consumed without becoming a good cheque."),
    "missing": ("forms", "A form that ought to be there and is not."),
    "found": ("forms", "A missing form that turned up."),
    "void": ("cheques", "Cancel a good cheque before it is paid."),
    "disposition": ("cheques", "Say what becomes of the debt behind a voided cheque."),
    "reprint": ("cheques", "Print a voided or spoiled cheque's payment again, on another form."),
    "manual": ("cheques", "Record a cheque written by hand on a form from the box."),
    "renumber": ("renumber", "The paper was a form off: move a stretch of good cheques to its own numbers."),
    "custody": ("cheques", "Say where the paper of good cheques is."),
    "notice": ("notice", "Tell the bank what was issued and must not be paid; record what it answers."),
    "show": ("story", "Everything about one form."),
    "find": ("story", "Search by payee, amount or reference."),
    "reconcile": ("reconcile", "Account for every number of a batch; hold the bank's statement against the book."),
    "report": ("report", "What people read: issued, control, numbers, outstanding, cleared, owed, voids, handover …"),
    "book": ("book", "Prove the record whole; copy it safely; start with cheques already out."),
    "tidy": ("tidy", "Delete the proofs and print streams of closed batches."),
    "words": ("words", "An amount in words and figures, as on a cheque."),
    "payday": ("payday", "The guided run through all of it: one question at a time."),
    "practice": ("practice", "A practice printer: no hardware, no wasted forms."),
    "demo": ("demo", "A whole payday on invented data."),
    "completion": ("completion", "What a shell needs to complete commands and options."),
}


def spoken(command: click.Command) -> click.Command:
    """A copy of a command, and of all that is in it, whose help is in the language spoken."""
    told = copy(command)
    told.help = tr(inspect.cleandoc(command.help)) if command.help else command.help
    told.params = [copy(param) for param in command.params]
    for param in told.params:
        if isinstance(param, click.Option) and param.help:
            param.help = tr(param.help)
    if isinstance(told, click.Group):
        told.commands = {name: spoken(one) for name, one in told.commands.items()}
    return told


class Lazy(click.Group):
    """A group whose commands are imported when they are called."""

    def list_commands(self, ctx: click.Context) -> list[str]:
        """Commands in the order of a payday."""
        return list(COMMANDS)

    def get_command(self, ctx: click.Context, name: str) -> click.Command | None:
        """The command of that name, imported now."""
        if name not in COMMANDS:
            return None
        module = import_module(f"cheque.cli.{COMMANDS[name][0]}")
        found: click.Command = getattr(module, f"{name}_command")
        return spoken(found) if tongue.speaks() else found

    def resolve_command(
        self, ctx: click.Context, args: list[str]
    ) -> tuple[str | None, click.Command | None, list[str]]:
        """As click does, with a suggestion for a name mistyped."""
        if args and args[0] not in COMMANDS and not args[0].startswith("-"):
            import difflib

            near = difflib.get_close_matches(args[0], COMMANDS, 1)
            hint = tr(" Did you mean {near!r}?", near=near[0]) if near else tr(" `cheque --help` lists the commands.")
            raise click.UsageError(tr("there is no command {args!r}.{hint}", args=args[0], hint=hint), ctx)
        return super().resolve_command(ctx, args)

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        """The list of commands, without importing them."""
        with formatter.section(tr("Commands")):
            formatter.write_dl([(name, tr(what)) for name, (_, what) in COMMANDS.items()])


@click.command(cls=Lazy, context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100})
@click.option("--settings", metavar="FILE", help="The settings; else ./cheque.toml, else the user's own.")
@click.option("--as", "person", metavar="NAME", help="Who is at the keys, where several share one login.")
@click.option("-q", "--quiet", is_flag=True, help="Answers, questions and refusals only.")
@click.option("-v", "--verbose", is_flag=True, help="Say which settings, book and log are used, and the time taken.")
@click.option("--language", metavar="LANGUAGE", help="Speak this language, such as fr; else as the system is set.")
@click.version_option(__version__, prog_name="cheque")
@click.pass_context
def cli(
    ctx: click.Context, settings: str | None, person: str | None, quiet: bool, verbose: bool, language: str | None
) -> None:
    """From a payment register to numbered cheques, every number accounted for."""
    if quiet and verbose:
        raise click.UsageError(tr("found --quiet and --verbose; wanted one of them."))
    ctx.obj = {"settings": settings, "person": person or "", "quiet": quiet, "verbose": verbose}


def main() -> None:
    """Run the command line and leave with its exit status."""
    _close_gaps()
    if sys.stdout is not None:  # a terminal that lacks a letter shows its number, and nothing is lost for it
        with suppress(AttributeError, ValueError):
            sys.stdout.reconfigure(errors="backslashreplace")  # type: ignore[union-attr]
    sys.exit(status_of(sys.argv[1:]))


def _close_gaps() -> None:
    """Let no file of ours take the place of a standard stream that was closed: what is said would go into it."""
    for descriptor in range(3):
        try:
            os.fstat(descriptor)
        except OSError:
            os.open(os.devnull, os.O_RDWR)
    if sys.stderr is None:
        sys.stderr = open(os.devnull, "w")  # noqa: SIM115  # for as long as the process lives


def status_of(arguments: list[str]) -> int:
    """Run one command; gives its exit status. Nothing but the status comes back, and never a traceback."""
    begun = time.time()
    _last[0] = ""
    try:
        status = _status(arguments)
        if "cheque.cli.desk" in sys.modules:
            from cheque.cli.desk import command_ended

            command_ended(_command(arguments), begun, status, _last[0])
    finally:
        tongues.leave()
    return status


def _command(arguments: list[str]) -> str:
    """Which command was called, without its arguments: they may be names."""
    words = [word for word in arguments if word in COMMANDS]
    if not words:
        return "-"
    module = sys.modules.get(f"cheque.cli.{COMMANDS[words[0]][0]}")
    group = getattr(module, f"{words[0]}_command", None)
    after = arguments[arguments.index(words[0]) + 1 :]
    part = next((word for word in after if word in getattr(group, "commands", ())), "")
    return f"{words[0]} {part}".strip()


def _language(arguments: list[str]) -> str | None:
    """The language asked for, looked up before anything is said."""
    if _for_a_script(arguments):
        return "en"
    place = 0
    while place < len(arguments) and arguments[place].startswith("-"):
        word, _, value = arguments[place].partition("=")
        if word == "--language":
            return value or "".join(arguments[place + 1 : place + 2])
        place += 2 if arguments[place] in ("--settings", "--as") else 1
    return None


def _for_a_script(arguments: list[str]) -> bool:
    """Whether the answer is for a program: it is in English, whoever asks."""
    forms = ("json", "csv")
    return (
        not {"--json", "--merge", *(f"--format={form}" for form in forms)}.isdisjoint(arguments)
        or any(word == "--format" and form in forms for word, form in pairwise(arguments))
    )  # fmt: skip


_last = [""]  # what was refused, for the log


def _status(arguments: list[str]) -> int:
    try:
        tongues.choose(_language(arguments))
        command = spoken(cli) if tongue.speaks() else cli
        found = command.main(arguments, prog_name="cheque", standalone_mode=False)
    except Refusal as refusal:
        return _fail(str(refusal), refusal.status)
    except click.exceptions.Exit as leave:
        return leave.exit_code
    except click.Abort:
        return _fail(tr("stopped by the operator; nothing more was done."), 4)
    except click.ClickException as error:
        context = getattr(error, "ctx", None)
        where = tr(" `{command_path} --help` shows how.", command_path=context.command_path) if context else ""
        return _fail(error.format_message() + where, 2)
    except BrokenPipeError:
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return 1
    except OSError as error:
        place = f" ({error.filename})" if error.filename else ""
        return _fail(tr("the system refused{place}: {strerror}.", place=place, strerror=error.strerror or error), 3)
    except Exception as error:
        if os.environ.get("CHEQUE_TRACEBACK"):
            raise
        return _fail(
            tr(
                "a fault of the tool's own: {name__}: {error}. The book is as it was before the step in hand. "
                "CHEQUE_TRACEBACK=1 shows where; please report it.",
                name__=type(error).__name__,
                error=error,
            ),
            4,
        )
    return found if isinstance(found, int) else 0


def _fail(message: str, status: int) -> int:
    from cheque.cli.desk import say

    _last[0] = message
    say(tr("cheque: {message}", message=message), always=True)
    return status
