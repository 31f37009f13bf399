"""The command line: parse, call a use case, answer. Exit codes: 0 done, 2 input refused, 3 an exit, 1 our fault."""

from __future__ import annotations

import datetime as dt
import io
import json
import os
import sys
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from rootfill import clinic
from rootfill.cli.check import check
from rootfill.cli.files import FolderShelf, read_bytes, write_all
from rootfill.cli.film import film
from rootfill.cli.heat import heat
from rootfill.cli.phantom import phantom_command
from rootfill.cli.scan import scan
from rootfill.cli.show import show_plan, show_tray
from rootfill.errors import InputRefused, RootfillError
from rootfill.plan import Plan

if TYPE_CHECKING:
    from rootfill.clinic.make_phantom import PictureFiles

CaseFile = Annotated[Path, typer.Argument(metavar="CASE", help="case file, TOML; - reads standard input")]
JsonFile = Annotated[Path | None, typer.Option("--json", metavar="FILE", help="write plan.json here; - prints it")]
OutFolder = Annotated[
    Path | None,
    typer.Option("--out", metavar="DIR", help="write plan.json, card.pdf, report.html, report.pdf"),
]
Version = Annotated[bool, typer.Option("--version", help="print the version and end")]
Notation = Annotated[str, typer.Option(help="iso3950 or universal")]

Port = Annotated[int, typer.Option(min=0, max=65535, help="where to answer on this machine; 0 takes a free port")]
DataFolder = Annotated[
    Path | None, typer.Option("--data", metavar="DIR", help="where the clinic is kept; by default in your own folder")
]
ServeIt = Annotated[bool, typer.Option("--serve", help="serve a clinic of invented cases, gone when it ends")]

Serve = Callable[[Path, int, Callable[[str], None]], None]
ServeDemo = Callable[[int, Callable[[str], None]], None]

PORT = 8036
EXIT_CANAL = 3
TRACE = "ROOTFILL_TRACE"
"""Set in the environment, it shows where the program broke instead of one sentence."""


def build(
    make_papers: Callable[[], clinic.Papers],
    serve: Serve,
    serve_demo: ServeDemo,
    make_pictures: Callable[[], PictureFiles],
) -> typer.Typer:
    """The application. Documents are made by whatever ``make_papers`` gives, the page is served by ``serve``."""
    app = typer.Typer(
        add_completion=False,
        invoke_without_command=True,
        rich_markup_mode=None,
        pretty_exceptions_enable=False,
        help="Plan the filling of a root canal. Decision support for trained, licensed clinicians; "
        "local rules and the makers' instructions come first; not validated as a medical device.",
    )

    @app.callback()
    def start(context: typer.Context, version: Version = False) -> None:
        if version:
            sys.stdout.write(f"{clinic.program()}\n")
        elif context.invoked_subcommand is None:
            sys.stdout.write(f"{context.get_help()}\n")

    @app.command()
    def new(tooth: Annotated[str, typer.Argument(metavar="TOOTH")], notation: Notation = "iso3950") -> None:
        """Print a case file to start from."""
        sys.stdout.write(clinic.new_case(tooth, notation))

    @app.command()
    def plan(case: CaseFile, json_to: JsonFile = None, out: OutFolder = None) -> None:
        """Plan a case: the tray-card table, and the files you ask for."""
        folder = Path() if str(case) == "-" else case.parent
        made = clinic.plan_case(clinic.text_of(read_bytes(case), str(case)), FolderShelf(folder))
        _hand_out(made, json_to, out, make_papers, case)

    @app.command("serve")
    def serve_clinic(port: Port = PORT, data: DataFolder = None) -> None:
        """Serve the page of your clinic to the browser of this machine."""
        serve(data or Path(typer.get_app_dir("rootfill")), port, _say)

    @app.command()
    def demo(json_to: JsonFile = None, out: OutFolder = None, served: ServeIt = False, port: Port = PORT) -> None:
        """Plan the invented demonstration tooth, or serve a clinic of such."""
        if served:
            serve_demo(port, _say)
            return
        _hand_out(clinic.plan_case(clinic.demo_case(), FolderShelf(Path())), json_to, out, make_papers)

    @app.command()
    def tray(
        file: Annotated[
            Path | None, typer.Argument(metavar="FILE", help="tray file; none shows the generic tray")
        ] = None,
        json_to: JsonFile = None,
    ) -> None:
        """Check a tray file and show what is on it."""
        text = clinic.generic_tray_text() if file is None else clinic.text_of(read_bytes(file), str(file))
        shown = clinic.read_tray(text)
        if json_to is None:
            show_tray(shown)
        else:
            _write_json(json_to, clinic.tray_json(shown))

    app.command("film")(film)
    app.command()(heat)
    app.command()(scan)
    app.command()(check)
    app.command()(phantom_command(make_pictures))

    @app.command()
    def schema(json_to: JsonFile = None) -> None:
        """Print the JSON Schema of case files and tray files."""
        _write_json(json_to or Path("-"), json.dumps(clinic.case_schema(), indent=2) + "\n")

    return app


def run(app: typer.Typer) -> int:
    """Run the application and turn every error into one sentence and one exit code."""
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):
            stream.reconfigure(errors="replace")
    try:
        return int(app(standalone_mode=False) or 0)
    except typer.Exit as stop:
        return int(stop.exit_code)
    except Exception as error:
        if os.environ.get(TRACE):
            raise
        code, said = _answer(error)
        if said:
            sys.stderr.write(f"rootfill: {said}\n")
        return code


def _answer(error: Exception) -> tuple[int, str]:
    """Exit code and sentence of an error; of a pipe whose reader has seen enough neither."""
    if isinstance(error, RootfillError):
        return error.exit_code, _sentence(error)
    if isinstance(error, BrokenPipeError):
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return 0, ""
    if isinstance(error, OSError):
        return 1, f"nothing could be printed ({(error.strerror or 'not usable').lower()})."
    if isinstance(error, typer.Abort):
        return 1, "stopped."
    usage = getattr(error, "format_message", None)
    if usage is not None:
        return 2, f"{usage()} Try rootfill --help."
    name = type(error).__name__
    return 1, f"our fault: {name}. Run it again with {TRACE}=1 and report what it prints, with the case file."


def _sentence(error: RootfillError) -> str:
    ours = f"our fault: {error}. Please report it with the case file."
    text = error.sentence if isinstance(error, InputRefused) else ours
    return " ".join(text.split())


def _hand_out(
    made: Plan,
    json_to: Path | None,
    out: Path | None,
    make_papers: Callable[[], clinic.Papers],
    case: Path | None = None,
) -> None:
    """Write everything or nothing, show, and say by the exit code whether a canal has an exit."""
    files: dict[Path, bytes] = {}
    if out is not None:
        documents = clinic.make_documents(made, make_papers(), dt.datetime.now().astimezone())
        files |= {out / name: content for name, content in documents.items()}
    shown = list(files)
    if json_to is not None and str(json_to) != "-":
        files[json_to] = clinic.plan_json(made).encode()
    if files:
        write_all(files, keep=[case] if case is not None else [])
    if str(json_to) == "-":
        sys.stdout.write(clinic.plan_json(made))
    else:
        show_plan(made, shown)
    if made.has_exit:
        raise typer.Exit(EXIT_CANAL)


def _say(line: str) -> None:
    sys.stdout.write(f"{line}\n")
    sys.stdout.flush()


def _write_json(where: Path, text: str) -> None:
    if str(where) == "-":
        sys.stdout.write(text)
    else:
        write_all({where: text.encode()})
